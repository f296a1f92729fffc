//! Who is asked to take an urgent job that nobody has, and in which order.
//!
//! Belongs here: who can take it, and the order with its reasons. Does not belong here: when
//! they are asked ([`super::climb`]), and the plan for a day ([`crate::plan`]).
//!
//! As with readers, the order is by one number per person, in minutes until they could probably
//! go; every weight is common practice, no source.

use crate::reader::Duty;

/// Being on a job of their own costs so many minutes: what is begun is finished first.
pub const ON_A_JOB_MIN: u32 = 60;

/// Somebody on call drives from home.
pub const ON_CALL_MIN: u32 = 20;

/// Somebody off duty is asked last.
pub const OFF_DUTY_MIN: u32 = 240;

/// What each time they were asked within seven days costs: the asking goes round.
pub const ASKED_LATELY_MIN: u32 = 15;

/// A technician who is at work in the shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taker<Id> {
    /// Who.
    pub id: Id,
    /// Their name, which settles what the minutes do not.
    pub name: String,
    /// Whether they have every qualification that the job asks for.
    pub qualified: bool,
    /// On leave now; then they are not asked.
    pub on_leave: bool,
    /// Whether they said no to it already.
    pub declined: bool,
    /// Whether they are at work, where that is known.
    pub duty: Option<Duty>,
    /// On a job of their own now.
    pub on_a_job: bool,
    /// How often they were asked to take one in the last seven days.
    pub asked_7d: u32,
}

impl<Id> Taker<Id> {
    /// How long until they could probably go, with what else counts, in minutes.
    pub fn minutes(&self) -> u32 {
        let duty = match self.duty {
            Some(Duty::OnShift) | None => 0,
            Some(Duty::OnCall) => ON_CALL_MIN,
            Some(Duty::Off) => OFF_DUTY_MIN,
        };
        let busy = if self.on_a_job { ON_A_JOB_MIN } else { 0 };
        duty + busy + self.asked_7d.saturating_mul(ASKED_LATELY_MIN)
    }
}

/// Those who can take it, best placed first.
pub fn takers<Id: Clone + Ord>(all: &[Taker<Id>]) -> Vec<Id> {
    let mut able: Vec<&Taker<Id>> =
        all.iter().filter(|one| one.qualified && !one.on_leave && !one.declined).collect();
    able.sort_by(|one, other| {
        (one.minutes(), &one.name, &one.id).cmp(&(other.minutes(), &other.name, &other.id))
    });
    able.into_iter().map(|one| one.id.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taker(id: u8) -> Taker<u8> {
        Taker {
            id,
            name: format!("T{id}"),
            qualified: true,
            on_leave: false,
            declined: false,
            duty: None,
            on_a_job: false,
            asked_7d: 0,
        }
    }

    #[test]
    fn whoever_is_free_and_at_work_comes_first_and_the_asking_goes_round() {
        let all = [
            Taker { on_a_job: true, ..taker(1) },
            Taker { duty: Some(Duty::Off), ..taker(2) },
            Taker { duty: Some(Duty::OnCall), ..taker(3) },
            Taker { duty: Some(Duty::OnShift), asked_7d: 1, ..taker(4) },
            Taker { duty: Some(Duty::OnShift), ..taker(5) },
        ];
        assert_eq!(takers(&all), [5, 4, 3, 1, 2]);
    }

    #[test]
    fn whoever_cannot_or_said_no_is_left_out() {
        let all = [
            Taker { qualified: false, ..taker(1) },
            Taker { on_leave: true, ..taker(2) },
            Taker { declined: true, ..taker(3) },
            taker(4),
        ];
        assert_eq!(takers(&all), [4]);
    }
}
