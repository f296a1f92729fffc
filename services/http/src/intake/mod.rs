//! Taking a call: the plain questions, the class that the answers make, the usual minutes.
//!
//! Belongs here: the route and wire shapes of this noun. Does not belong here: the questions and
//! the class themselves (the roster's), and taking the job ([`crate::job`]).

use actix_web::{HttpResponse, get, web};
use roster::intake::{Answer, Answers, MINUTES_SOURCE, Question, SAFETY_SOURCE, Work, class_of};
use serde::{Deserialize, Serialize};
use store::job::{Intake, Urgency};
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::auth::SignedIn;
use crate::job::{UrgencyShape, WorkShape};
use crate::problem::{Problem, ProblemBody};

/// What a caller says to a plain question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = CallAnswer)]
pub enum AnswerShape {
    /// Yes.
    Yes,
    /// No.
    No,
    /// They cannot say; counts as yes.
    Unsure,
}

/// What was answered to the plain questions; absent is not asked, and counts as no.
#[derive(Clone, Copy, Debug, Default, Serialize, Deserialize, ToSchema, IntoParams)]
#[serde(deny_unknown_fields)]
#[schema(as = CallAnswers)]
pub struct AnswersShape {
    /// A smell of gas.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    gas_smell: Option<AnswerShape>,
    /// Smoke, sparks, a smell of burning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    smoke: Option<AnswerShape>,
    /// A carbon monoxide alarm that sounds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    co_alarm: Option<AnswerShape>,
    /// No heat or no cooling at all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    no_heat_cool: Option<AnswerShape>,
    /// Somebody who cannot be without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    vulnerable: Option<AnswerShape>,
    /// Water coming out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    water: Option<AnswerShape>,
    /// Food or medicine stored in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(inline)]
    food: Option<AnswerShape>,
}

/// What was asked when a call was taken, and the class that it made.
#[derive(Serialize, ToSchema)]
#[schema(as = Intake)]
pub struct IntakeShape {
    /// What was answered.
    answers: AnswersShape,
    /// The class that the answers make.
    class: UrgencyShape,
    /// Why, in a sentence.
    because: String,
    /// Why the job has another class than that; null while it has that one.
    overruled: Option<String>,
}

/// What the page for taking a call needs.
#[derive(Serialize, ToSchema)]
pub struct IntakePage {
    /// The questions, in the order in which they are asked.
    questions: Vec<QuestionShape>,
    /// The class that the answers make.
    class: UrgencyShape,
    /// Why, in a sentence.
    because: String,
    /// What to say at once, before anything else is asked; mostly nothing.
    dangers: Vec<DangerShape>,
    /// Where the words of safety come from.
    safety_source: &'static str,
    /// Kinds of work, with the minutes that each usually takes.
    works: Vec<WorkUsual>,
    /// Where the minutes come from.
    minutes_source: &'static str,
}

/// A plain question.
#[derive(Serialize, ToSchema)]
pub struct QuestionShape {
    /// The name of the field that its answer goes into.
    id: &'static str,
    /// As it is asked.
    words: &'static str,
    /// Whether a yes is a danger.
    danger: bool,
}

/// What to say where somebody may be in danger.
#[derive(Serialize, ToSchema)]
pub struct DangerShape {
    /// "gas", "carbon_monoxide" or "fire".
    id: &'static str,
    /// What to say.
    says: &'static str,
}

/// A kind of work with what it usually takes.
#[derive(Serialize, ToSchema)]
pub struct WorkUsual {
    /// The kind.
    id: WorkShape,
    /// For people.
    words: &'static str,
    /// Minutes on site.
    expected_min: i32,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(intake_show);
}

/// The plain questions, and the class that these answers make; nothing is kept.
#[utoipa::path(tag = "job",
    params(AnswersShape),
    responses(
        (status = 200, description = "Questions, class and usual minutes", body = IntakePage),
        (status = 400, description = "Not an answer", body = ProblemBody),
        (status = 401, description = "Not signed in", body = ProblemBody),
    ))]
#[get("/api/intake")]
async fn intake_show(
    _: SignedIn,
    answers: web::Query<AnswersShape>,
) -> Result<HttpResponse, Problem> {
    let classed = class_of(&answers.into_inner().into());
    Ok(HttpResponse::Ok().json(IntakePage {
        questions: Question::ALL
            .into_iter()
            .map(|question| QuestionShape {
                id: question.id(),
                words: question.words(),
                danger: matches!(
                    question,
                    Question::GasSmell | Question::Smoke | Question::CoAlarm
                ),
            })
            .collect(),
        class: Urgency::from_roster(classed.urgency).into(),
        because: classed.because,
        dangers: classed
            .dangers
            .into_iter()
            .map(|danger| DangerShape { id: danger.id(), says: danger.says() })
            .collect(),
        safety_source: SAFETY_SOURCE,
        works: Work::ALL
            .into_iter()
            .map(|work| WorkUsual {
                id: work.into(),
                words: work.words(),
                expected_min: work.expected_min(),
            })
            .collect(),
        minutes_source: MINUTES_SOURCE,
    }))
}

impl From<AnswerShape> for Answer {
    fn from(answer: AnswerShape) -> Self {
        match answer {
            AnswerShape::Yes => Answer::Yes,
            AnswerShape::No => Answer::No,
            AnswerShape::Unsure => Answer::Unsure,
        }
    }
}

impl From<Answer> for AnswerShape {
    fn from(answer: Answer) -> Self {
        match answer {
            Answer::Yes => AnswerShape::Yes,
            Answer::No => AnswerShape::No,
            Answer::Unsure => AnswerShape::Unsure,
        }
    }
}

impl From<AnswersShape> for Answers {
    fn from(answers: AnswersShape) -> Self {
        Answers {
            gas_smell: answers.gas_smell.map(Answer::from),
            smoke: answers.smoke.map(Answer::from),
            co_alarm: answers.co_alarm.map(Answer::from),
            no_heat_cool: answers.no_heat_cool.map(Answer::from),
            vulnerable: answers.vulnerable.map(Answer::from),
            water: answers.water.map(Answer::from),
            food: answers.food.map(Answer::from),
        }
    }
}

impl From<Intake> for IntakeShape {
    fn from(intake: Intake) -> Self {
        let to = |question| intake.answers.to(question).map(AnswerShape::from);
        IntakeShape {
            answers: AnswersShape {
                gas_smell: to(Question::GasSmell),
                smoke: to(Question::Smoke),
                co_alarm: to(Question::CoAlarm),
                no_heat_cool: to(Question::NoHeatCool),
                vulnerable: to(Question::Vulnerable),
                water: to(Question::Water),
                food: to(Question::Food),
            },
            class: intake.class.into(),
            because: intake.because,
            overruled: intake.overruled,
        }
    }
}
