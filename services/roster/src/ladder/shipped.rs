//! The ladders that ship.
//!
//! Belongs here: their steps, and why they are as they are. Does not belong here: what a shop
//! made of them.
//!
//! Every delay is common practice, no source.

use super::{How, Kind, Ladders, Step, Steps, Who};
use crate::queue::Urgency;

impl<Id> Ladders<Id> {
    /// What holds until a shop saves its own. No quiet hours: a service that keeps quiet without
    /// having been told to would sit on the call that mattered.
    pub fn shipped() -> Self {
        Ladders {
            second_read: Steps {
                week: vec![
                    // A read takes about five minutes, and somebody who will answer picks the
                    // telephone up within that.
                    mail(0, vec![Who::Best]),
                    mail(5, vec![Who::Next { count: 2 }]),
                    // Longer than this and a technician leaves the roof.
                    mail(15, vec![Who::Everyone, Who::Managers]),
                ],
                weekend: Some(vec![
                    mail(0, vec![Who::Best]),
                    mail(5, vec![Who::OnCall, Who::Next { count: 2 }]),
                    mail(15, vec![Who::Everyone, Who::Managers]),
                ]),
            },
            urgent_job: Steps {
                week: vec![
                    // Whoever took the call gives it out within that.
                    mail(5, vec![Who::Schedulers, Who::Best]),
                    mail(15, vec![Who::Next { count: 2 }]),
                    mail(30, vec![Who::Everyone, Who::Managers]),
                ],
                weekend: Some(vec![
                    mail(0, vec![Who::OnCall]),
                    mail(10, vec![Who::SecondRota, Who::Next { count: 2 }]),
                    mail(20, vec![Who::Everyone, Who::Schedulers, Who::Managers]),
                ]),
            },
            approval: Steps {
                week: vec![
                    mail(0, vec![Who::Managers]),
                    // The customer has been told "within the hour".
                    mail(60, vec![Who::Delegate, Who::Owners]),
                    mail(240, vec![Who::Everyone]),
                ],
                weekend: None,
            },
            urgent: vec![Urgency::NoHeatVulnerable, Urgency::Water, Urgency::FoodStorage],
            quiet: None,
            never_quiet: vec![Urgency::NoHeatVulnerable, Urgency::Water],
        }
    }
}

impl Kind {
    /// Why what ships is as it is, for whoever looks at it first.
    pub fn shipped_because(self) -> &'static str {
        match self {
            Kind::SecondRead => {
                "One person at a time is asked first, so that not everyone drops their tools for \
                 one read; after 15 minutes a technician would leave the roof, so then it is \
                 everyone's business."
            }
            Kind::UrgentJob => {
                "In the week whoever took the call has five minutes to give it out. On days the \
                 shop is closed nobody sits at the desk, so whoever is on call is asked at once."
            }
            Kind::Approval => {
                "Those who answer for money are told at once. After an hour a delegate and the \
                 owners are told, since a customer is waiting for an answer about a large bill."
            }
        }
    }
}

fn mail<Id>(after_min: u32, who: Vec<Who<Id>>) -> Step<Id> {
    Step { after_min, who, how: How::Mail }
}
