//! A step in words.
//!
//! Belongs here: the sentence for a step. Does not belong here: names of people, which come
//! with whom it reached.

use super::{Kind, Step, Who};

impl<Id> Step<Id> {
    /// What it does, in words.
    pub fn says(&self, kind: Kind) -> String {
        let clauses: Vec<String> = self.who.iter().map(|who| who.says(kind)).collect();
        match clauses.split_last() {
            Some((last, [])) => last.clone(),
            Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
            None => "nobody is told".to_owned(),
        }
    }

    /// The name that a binary from before this was a shop's own affair gave a step like it.
    pub fn action(&self) -> &'static str {
        match self.who.as_slice() {
            [Who::Best] => "ask_best",
            [.., Who::Next { .. }] => "ask_next",
            _ => "ask_everyone",
        }
    }
}

impl<Id> Who<Id> {
    fn says(&self, kind: Kind) -> String {
        let one = match kind {
            Kind::SecondRead => "reader",
            Kind::UrgentJob => "technician",
            Kind::Approval => "approver",
        };
        match self {
            Who::Best => format!("the best placed {one} is asked"),
            Who::Next { count: 1 } => "the next one is asked as well".to_owned(),
            Who::Next { count } => format!("the next {} are asked as well", number(*count)),
            Who::Everyone if kind == Kind::Approval => {
                "everyone who may approve is asked".to_owned()
            }
            Who::Everyone => "everyone qualified is asked".to_owned(),
            Who::OnCall => "whoever is on call is asked".to_owned(),
            Who::SecondRota => "the second rota is asked".to_owned(),
            Who::Schedulers => "the schedulers are told".to_owned(),
            Who::Managers if kind == Kind::Approval => "the managers are asked".to_owned(),
            Who::Managers => "the managers are told".to_owned(),
            Who::Owners if kind == Kind::Approval => "the owners are asked".to_owned(),
            Who::Owners => "the owners are told".to_owned(),
            Who::Delegate => "the delegate is asked".to_owned(),
            Who::Person { .. } => "a person named by the shop is told".to_owned(),
        }
    }
}

fn number(count: u8) -> String {
    let small = ["no", "one", "two", "three", "four", "five", "six"];
    small.get(usize::from(count)).map_or_else(|| count.to_string(), |&word| word.to_owned())
}

#[cfg(test)]
mod tests {
    use super::super::{How, Ladders};
    use super::*;

    #[test]
    fn what_ships_reads_as_a_sentence() {
        let ladders = Ladders::<u8>::shipped();
        let says: Vec<String> =
            ladders.second_read.week.iter().map(|step| step.says(Kind::SecondRead)).collect();
        assert_eq!(
            says,
            [
                "the best placed reader is asked",
                "the next two are asked as well",
                "everyone qualified is asked and the managers are told",
            ]
        );
        let actions: Vec<&str> = ladders.second_read.week.iter().map(Step::action).collect();
        assert_eq!(actions, ["ask_best", "ask_next", "ask_everyone"]);
    }

    #[test]
    fn three_groups_are_listed() {
        let who = vec![Who::<u8>::Everyone, Who::Schedulers, Who::Managers];
        let step = Step { after_min: 20, who, how: How::Mail };
        assert_eq!(
            step.says(Kind::UrgentJob),
            "everyone qualified is asked, the schedulers are told and the managers are told"
        );
    }
}
