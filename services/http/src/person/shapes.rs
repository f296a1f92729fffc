//! Wire shapes of people.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use serde::{Deserialize, Serialize};
use store::person::{Person, PersonChange, PersonNew, Qualification, Role};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::shapes::absent_or;
use crate::shop::ShopShape;

/// What a person may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Role)]
pub enum RoleShape {
    /// Takes readings, asks for condemnation, reads for others.
    Technician,
    /// Approves, overrides, manages people.
    ServiceManager,
    /// Takes calls and gives them out.
    Scheduler,
    /// Owns the shop.
    Owner,
}

/// What a person is qualified to judge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Qualification)]
pub enum QualificationShape {
    /// Work on the refrigerant circuit.
    SealedSystem,
    /// Three-phase supply and motors.
    ThreePhase,
    /// Gas and oil firing.
    Combustion,
    /// Electrical work in general.
    Electrical,
}

/// A person of the shop.
#[derive(Serialize, ToSchema)]
#[schema(as = Person)]
pub struct PersonShape {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// Address for signing in and for mail.
    pub email: String,
    /// Roles; they add up.
    pub roles: Vec<RoleShape>,
    /// Qualifications.
    pub qualifications: Vec<QualificationShape>,
    /// Telephone.
    pub phone: Option<String>,
    /// Licence number.
    pub licence: Option<String>,
    /// Whether they may sign in and be asked.
    pub active: bool,
}

/// Whoever is signed in, with their shop.
#[derive(Serialize, ToSchema)]
#[schema(as = Me)]
pub struct MeShape {
    /// The person.
    #[serde(flatten)]
    pub person: PersonShape,
    /// Their shop.
    pub shop: ShopShape,
}

/// A new person.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonAdd {
    /// Address for signing in and for mail.
    email: String,
    /// Name.
    name: String,
    /// First password, at least ten characters.
    password: String,
    /// Roles; at least one.
    roles: Vec<RoleShape>,
    /// Qualifications.
    #[serde(default)]
    qualifications: Vec<QualificationShape>,
    /// Telephone.
    #[serde(default)]
    phone: Option<String>,
    /// Licence number.
    #[serde(default)]
    licence: Option<String>,
}

/// What to change of a person; what is absent stays, null clears.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonPatch {
    /// Name.
    #[serde(default)]
    name: Option<String>,
    /// A new password; ends the person's other sessions.
    #[serde(default)]
    password: Option<String>,
    /// Roles; at least one.
    #[serde(default)]
    roles: Option<Vec<RoleShape>>,
    /// Qualifications.
    #[serde(default)]
    qualifications: Option<Vec<QualificationShape>>,
    /// Telephone.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<String>)]
    phone: Option<Option<String>>,
    /// Licence number.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<String>)]
    licence: Option<Option<String>>,
    /// Whether they may sign in and be asked; taking it away ends their sessions.
    #[serde(default)]
    active: Option<bool>,
}

impl From<Person> for PersonShape {
    fn from(person: Person) -> Self {
        PersonShape {
            id: person.id,
            name: person.name,
            email: person.email,
            roles: person.roles.into_iter().map(RoleShape::from).collect(),
            qualifications: person
                .qualifications
                .into_iter()
                .map(QualificationShape::from)
                .collect(),
            phone: person.phone,
            licence: person.licence,
            active: person.active,
        }
    }
}

impl From<PersonAdd> for PersonNew {
    fn from(new: PersonAdd) -> Self {
        PersonNew {
            email: new.email,
            name: new.name,
            password: new.password,
            roles: new.roles.into_iter().map(Role::from).collect(),
            qualifications: new.qualifications.into_iter().map(Qualification::from).collect(),
            phone: new.phone,
            licence: new.licence,
        }
    }
}

impl From<PersonPatch> for PersonChange {
    fn from(patch: PersonPatch) -> Self {
        PersonChange {
            name: patch.name,
            password: patch.password,
            roles: patch.roles.map(|roles| roles.into_iter().map(Role::from).collect()),
            qualifications: patch
                .qualifications
                .map(|held| held.into_iter().map(Qualification::from).collect()),
            phone: patch.phone,
            licence: patch.licence,
            active: patch.active,
        }
    }
}

impl From<Role> for RoleShape {
    fn from(role: Role) -> Self {
        match role {
            Role::Technician => RoleShape::Technician,
            Role::ServiceManager => RoleShape::ServiceManager,
            Role::Scheduler => RoleShape::Scheduler,
            Role::Owner => RoleShape::Owner,
        }
    }
}

impl From<RoleShape> for Role {
    fn from(role: RoleShape) -> Self {
        match role {
            RoleShape::Technician => Role::Technician,
            RoleShape::ServiceManager => Role::ServiceManager,
            RoleShape::Scheduler => Role::Scheduler,
            RoleShape::Owner => Role::Owner,
        }
    }
}

impl From<Qualification> for QualificationShape {
    fn from(qualification: Qualification) -> Self {
        match qualification {
            Qualification::SealedSystem => QualificationShape::SealedSystem,
            Qualification::ThreePhase => QualificationShape::ThreePhase,
            Qualification::Combustion => QualificationShape::Combustion,
            Qualification::Electrical => QualificationShape::Electrical,
        }
    }
}

impl From<QualificationShape> for Qualification {
    fn from(qualification: QualificationShape) -> Self {
        match qualification {
            QualificationShape::SealedSystem => Qualification::SealedSystem,
            QualificationShape::ThreePhase => Qualification::ThreePhase,
            QualificationShape::Combustion => Qualification::Combustion,
            QualificationShape::Electrical => Qualification::Electrical,
        }
    }
}
