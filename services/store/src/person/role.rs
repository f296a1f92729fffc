//! Roles, qualifications, and the caller that every store method is asked by.
//!
//! Belongs here: what somebody may do by their role. Does not belong here: what the state of a
//! thing allows; each noun knows that.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::error::StoreError;

/// What a person may do. Roles add up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Takes readings, asks for condemnation, reads for others.
    Technician,
    /// Approves, overrides, manages people.
    ServiceManager,
    /// Takes calls and gives them out.
    Scheduler,
    /// Owns the shop.
    Owner,
}

impl Role {
    /// Every role.
    pub const ALL: [Role; 4] =
        [Role::Technician, Role::ServiceManager, Role::Scheduler, Role::Owner];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            Role::Technician => "technician",
            Role::ServiceManager => "service_manager",
            Role::Scheduler => "scheduler",
            Role::Owner => "owner",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        Role::ALL.into_iter().find(|role| role.name() == name)
    }
}

/// What a person is qualified to judge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Qualification {
    /// Work on the refrigerant circuit.
    SealedSystem,
    /// Three-phase supply and motors.
    ThreePhase,
    /// Gas and oil firing.
    Combustion,
    /// Electrical work in general.
    Electrical,
}

impl Qualification {
    /// Every qualification.
    pub const ALL: [Qualification; 4] = [
        Qualification::SealedSystem,
        Qualification::ThreePhase,
        Qualification::Combustion,
        Qualification::Electrical,
    ];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            Qualification::SealedSystem => "sealed_system",
            Qualification::ThreePhase => "three_phase",
            Qualification::Combustion => "combustion",
            Qualification::Electrical => "electrical",
        }
    }

    /// In a sentence: "nobody is qualified for …".
    pub fn says(self) -> &'static str {
        match self {
            Qualification::SealedSystem => "the refrigerant circuit",
            Qualification::ThreePhase => "three-phase work",
            Qualification::Combustion => "gas and oil firing",
            Qualification::Electrical => "electrical work",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        Qualification::ALL.into_iter().find(|qualification| qualification.name() == name)
    }
}

/// Whoever asks: signed in, of one shop.
#[derive(Clone, Debug)]
pub struct Caller {
    /// The person.
    pub person_id: Uuid,
    /// Their shop, which bounds everything they can see.
    pub shop_id: Uuid,
    /// Their roles now.
    pub roles: Vec<Role>,
    /// Their qualifications now.
    pub qualifications: Vec<Qualification>,
    /// The session they ask in.
    pub session_id: Uuid,
    /// Set for a guest reader: the one request they were invited to read.
    pub guest: Option<GuestScope>,
}

/// All that a guest reader may reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GuestScope {
    /// The link they came by.
    pub link_id: Uuid,
    /// The request they were invited to read.
    pub request_id: Uuid,
    /// The job it is on, whose thread they may talk in.
    pub job_id: Uuid,
}

impl Caller {
    /// Whether they hold a role.
    pub fn is(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// Whether they hold any of these roles.
    pub fn is_any(&self, roles: &[Role]) -> bool {
        roles.iter().any(|role| self.is(*role))
    }

    /// Goes on unless a guest asks about another job than theirs.
    ///
    /// # Errors
    /// `NotFound`, as for a job of another shop.
    pub fn must_reach_job(&self, job_id: Uuid) -> Result<(), StoreError> {
        match self.guest {
            Some(guest) if guest.job_id != job_id => Err(StoreError::NotFound { what: "job" }),
            _ => Ok(()),
        }
    }

    /// Whether they manage: service manager or owner.
    pub fn manages(&self) -> bool {
        self.is_any(&[Role::ServiceManager, Role::Owner])
    }

    /// Whether they give out work: scheduler, service manager or owner.
    pub fn schedules(&self) -> bool {
        self.is_any(&[Role::Scheduler, Role::ServiceManager, Role::Owner])
    }

    /// Goes on only for those who manage.
    ///
    /// # Errors
    /// `Forbidden`, saying who may.
    pub fn must_manage(&self, what: &str) -> Result<(), StoreError> {
        if self.manages() {
            Ok(())
        } else {
            Err(StoreError::forbidden(format!(
                "Only a service manager or the owner may {what}; ask one of them."
            )))
        }
    }

    /// Goes on only for those who give out work.
    ///
    /// # Errors
    /// `Forbidden`, saying who may.
    pub fn must_schedule(&self, what: &str) -> Result<(), StoreError> {
        if self.schedules() {
            Ok(())
        } else {
            Err(StoreError::forbidden(format!(
                "Only a scheduler, a service manager or the owner may {what}; ask one of them."
            )))
        }
    }
}
