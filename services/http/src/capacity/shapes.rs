//! Wire shapes of capacity.
//!
//! Belongs here: what is sent and received, and the words for a chance. Does not belong here:
//! routes.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use roster::capacity::CLASSES;
use roster::capacity::outlook::{HourLoad, Odds, PART_HOURS, PlaceOdds};
use roster::queue::Urgency;
use serde::{Deserialize, Serialize};
use store::capacity::{CapacitySetting, Forecast, SettingChange, SpanName, WeatherDay};
use utoipa::ToSchema;
use uuid::Uuid;

/// A span by its name.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = CapacitySpan)]
pub enum SpanShape {
    /// From now to the next morning.
    Tonight,
    /// The next Saturday, or what is left of this one.
    Saturday,
    /// The next Sunday, or what is left of this one.
    Sunday,
    /// From Friday evening to Monday morning, or what is left of it.
    Weekend,
    /// A weekend with the holidays beside it.
    LongWeekend,
}

impl From<SpanShape> for SpanName {
    fn from(span: SpanShape) -> Self {
        match span {
            SpanShape::Tonight => SpanName::Tonight,
            SpanShape::Saturday => SpanName::Saturday,
            SpanShape::Sunday => SpanName::Sunday,
            SpanShape::Weekend => SpanName::Weekend,
            SpanShape::LongWeekend => SpanName::LongWeekend,
        }
    }
}

/// What is to be expected of a span.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityOutlook)]
pub struct OutlookShape {
    /// The span's name.
    span: String,
    /// From.
    start: DateTime<Utc>,
    /// To.
    end: DateTime<Utc>,
    /// What was drawn with.
    seed: u64,
    /// How often it was played.
    runs: u64,
    /// When it was reckoned.
    reckoned_at: DateTime<Utc>,
    /// Each hour.
    hours: Vec<HourShape>,
    /// The whole span by class, most pressing first.
    classes: Vec<ClassShape>,
    /// Each part of the span, by when a call comes in.
    parts: Vec<PartShape>,
    /// Each place that calls come from, the most calls first; none where no place is known.
    places: Vec<PlaceShape>,
    /// What is short, the most telling first.
    short: Vec<ShortShape>,
    /// The rules that are on and will probably fire.
    rules: Vec<ExpectedShape>,
    /// Outdoors on the days of the span.
    weather: Vec<WeatherShape>,
    /// What it was reckoned from, a sentence each.
    notes: Vec<String>,
}

/// One hour of a span.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityHour)]
pub struct HourShape {
    /// When it begins.
    at: DateTime<Utc>,
    /// People that would be busy if everybody were served at once, on average.
    load: f64,
    /// One run in ten has less.
    load_low: f64,
    /// One run in ten has more.
    load_high: f64,
    /// The same at a usual year's temperature, with nothing waiting from before.
    usual: f64,
    /// People on shift, and the first on call.
    supply: f64,
    /// People further on call.
    on_call_left: f64,
    /// People on the second rota.
    second: f64,
    /// Calls waiting at its end that are later than they may be, all classes together.
    late: f64,
    /// Whether the load reaches the supply: `no`, `may` (in one run of ten), `will` (on average).
    crosses: String,
}

/// A class over a span.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityClass)]
pub struct ClassShape {
    /// The class.
    class: String,
    /// How long it may wait, minutes.
    tolerable_min: f64,
    /// Calls expected.
    calls: f64,
    /// The chance that one waits longer.
    chance: ChanceShape,
}

/// A chance with what the number of runs leaves open.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityChance)]
pub struct ChanceShape {
    /// The estimate, 0 to 1.
    chance: f64,
    /// Lower end of the 95 % interval.
    low: f64,
    /// Upper end of it.
    high: f64,
    /// Calls that it is about, each run.
    calls: f64,
    /// "1 in 12".
    words: String,
}

/// A part of a span.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityPart)]
pub struct PartShape {
    /// From.
    from: DateTime<Utc>,
    /// To.
    to: DateTime<Utc>,
    /// By class.
    chances: BTreeMap<String, ChanceShape>,
}

/// A place that calls come from.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityPlace)]
pub struct PlaceShape {
    /// Its name.
    name: String,
    /// The way there from the shop, minutes.
    way_min: f64,
    /// The chance that a call from there waits longer than it may, all classes together.
    chance: ChanceShape,
    /// Calls from there that would be late for the way alone.
    way_late: f64,
}

/// Something that is short.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityShort)]
pub struct ShortShape {
    /// From.
    from: DateTime<Utc>,
    /// To.
    to: DateTime<Utc>,
    /// `hours`, `qualification` or `place`.
    what: String,
    /// The qualification, where it is one.
    qualification: Option<String>,
    /// The place's name, where it is one that is known.
    place: Option<String>,
    /// Calls late for this.
    calls: f64,
    /// In a sentence.
    says: String,
}

/// A rule that will probably fire.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityRule)]
pub struct ExpectedShape {
    /// The rule.
    rule_id: Uuid,
    /// Its name.
    name: String,
    /// What it does, in words.
    does: Vec<String>,
    /// Share of the drawn spans in which it fires.
    share: f64,
    /// When, in the middle of those.
    at: DateTime<Utc>,
}

/// Outdoors on a day.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacityWeather)]
pub struct WeatherShape {
    /// The day.
    day: NaiveDate,
    /// °F.
    outdoor_f: i32,
    /// Somebody entered it; guessed from the season or from calls otherwise.
    entered: bool,
}

/// The weather of a day to enter.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = WeatherPut)]
pub struct WeatherPut {
    /// The day, on the shop's calendar.
    pub(crate) day: NaiveDate,
    /// °F; null takes it back.
    pub(crate) outdoor_f: Option<i32>,
}

/// What a shop says about capacity.
#[derive(Serialize, ToSchema)]
#[schema(as = CapacitySettings)]
pub struct CapacitySettingShape {
    /// Longest wait by class, minutes.
    tolerable_min: BTreeMap<String, i64>,
    /// The way to a call where its place is not known, minutes.
    travel_min: i64,
    /// Whether the shop said so; defaults that are common practice, no source, otherwise.
    own: bool,
}

/// What to change of it: all.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = CapacitySettingsPut)]
pub struct CapacitySettingPut {
    /// Longest wait by class, minutes.
    tolerable_min: BTreeMap<String, i64>,
    /// The usual way to a call, minutes.
    travel_min: i64,
}

impl From<CapacitySettingPut> for SettingChange {
    fn from(body: CapacitySettingPut) -> Self {
        SettingChange { tolerable_min: body.tolerable_min, travel_min: body.travel_min }
    }
}

impl From<&CapacitySetting> for CapacitySettingShape {
    fn from(setting: &CapacitySetting) -> Self {
        let waits = Urgency::ALL.into_iter().zip(setting.tolerable.0);
        CapacitySettingShape {
            tolerable_min: waits
                .map(|(class, minutes)| (class.id().to_owned(), minutes as i64))
                .collect(),
            travel_min: setting.travel_min,
            own: setting.own,
        }
    }
}

impl From<&Forecast> for OutlookShape {
    fn from(forecast: &Forecast) -> Self {
        let (inputs, outlook) = (&forecast.inputs, &forecast.outlook);
        let at = |hour: usize| inputs.when.start + TimeDelta::hours(hour as i64);
        let hours = inputs.hours.iter().zip(&outlook.hours);
        let classes = Urgency::ALL.into_iter().enumerate().map(|(class, urgency)| ClassShape {
            class: urgency.id().to_owned(),
            tolerable_min: inputs.setting.tolerable.0[class],
            calls: rounded(outlook.by_class[class].calls),
            chance: chance(outlook.by_class[class]),
        });
        let parts = outlook.by_part.iter().enumerate().map(|(part, odds)| PartShape {
            from: at(part * PART_HOURS),
            to: at(((part + 1) * PART_HOURS).min(inputs.when.hours)),
            chances: by_class(odds),
        });
        OutlookShape {
            span: inputs.span.name().to_owned(),
            start: inputs.when.start,
            end: inputs.when.end(),
            seed: forecast.seed,
            runs: outlook.runs,
            reckoned_at: forecast.at,
            hours: hours.map(|(hour, load)| hour_shape(hour.at, load)).collect(),
            classes: classes.collect(),
            parts: parts.collect(),
            places: outlook.by_place.iter().map(place_shape).collect(),
            short: outlook
                .short
                .iter()
                .map(|short| ShortShape {
                    from: at(short.from_hour),
                    to: at(short.to_hour),
                    what: short.what.to_owned(),
                    qualification: short.qualification.clone(),
                    place: short.place.clone(),
                    calls: rounded(short.calls),
                    says: short.says.clone(),
                })
                .collect(),
            rules: forecast
                .rules
                .iter()
                .map(|rule| ExpectedShape {
                    rule_id: rule.rule_id,
                    name: rule.name.clone(),
                    does: rule.does.clone(),
                    share: rule.share,
                    at: rule.at,
                })
                .collect(),
            weather: inputs.weather.iter().map(weather).collect(),
            notes: notes(forecast),
        }
    }
}

fn hour_shape(at: DateTime<Utc>, load: &HourLoad) -> HourShape {
    let crosses = if load.load > load.supply {
        "will"
    } else if load.load_high > load.supply {
        "may"
    } else {
        "no"
    };
    HourShape {
        at,
        load: rounded(load.load),
        load_low: rounded(load.load_low),
        load_high: rounded(load.load_high),
        usual: rounded(load.usual),
        supply: load.supply,
        on_call_left: load.on_call_left,
        second: load.second,
        late: rounded(load.late_by_class.iter().sum()),
        crosses: crosses.to_owned(),
    }
}

fn place_shape(place: &PlaceOdds) -> PlaceShape {
    PlaceShape {
        name: place.name.clone(),
        way_min: place.way_min.round(),
        chance: chance(place.odds),
        way_late: rounded(place.way_late),
    }
}

fn by_class(odds: &[Odds; CLASSES]) -> BTreeMap<String, ChanceShape> {
    let classes = Urgency::ALL.into_iter().zip(odds);
    classes.map(|(class, odds)| (class.id().to_owned(), chance(*odds))).collect()
}

fn chance(odds: Odds) -> ChanceShape {
    ChanceShape {
        chance: rounded(odds.chance),
        low: rounded(odds.low),
        high: rounded(odds.high),
        calls: rounded(odds.calls),
        words: words(odds),
    }
}

/// "1 in 12", "fewer than 1 in 200", "no call expected".
fn words(odds: Odds) -> String {
    if odds.calls <= 0.0 {
        return "no call expected".to_owned();
    }
    if odds.chance < 0.005 {
        return "fewer than 1 in 200".to_owned();
    }
    if odds.chance > 0.6 {
        return format!("{:.0} in 10", (odds.chance * 10.0).min(10.0));
    }
    format!("1 in {:.0}", 1.0 / odds.chance)
}

fn weather(day: &WeatherDay) -> WeatherShape {
    WeatherShape { day: day.day, outdoor_f: day.outdoor_f, entered: day.entered }
}

/// Digits that mean something here.
fn rounded(value: f64) -> f64 {
    (value * 1_000.0).round() / 1_000.0
}

fn notes(forecast: &Forecast) -> Vec<String> {
    let inputs = &forecast.inputs;
    let mut notes = vec![match inputs.learnt_calls {
        0 => "Nothing is learnt yet: calls and times of work are what is usual in the trade \
              (common practice, no source)."
            .to_owned(),
        calls => format!(
            "Learnt from {calls} calls over {:.0} weeks, beside what is usual in the trade (common \
             practice, no source).",
            inputs.learnt_weeks.max(1.0)
        ),
    }];
    if inputs.weather.iter().any(|day| !day.entered) {
        notes.push(
            "Where no outdoor temperature is entered it is guessed from the season or from what \
             callers said; no weather service is asked."
                .to_owned(),
        );
    }
    if !inputs.people.rota_known {
        notes.push(
            "The rota says nothing of this time: everybody counts as on shift in opening hours and \
             on call otherwise."
                .to_owned(),
        );
    }
    notes.extend(inputs.places.notes.iter().cloned());
    notes.push(format!(
        "Played {} times; the same seed gives the same answer.",
        forecast.outlook.runs
    ));
    notes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chance_is_said_as_people_say_it() {
        let said = |chance, calls| words(Odds { chance, calls, ..Odds::default() });
        assert_eq!(said(0.083, 4.0), "1 in 12");
        assert_eq!(said(0.5, 4.0), "1 in 2");
        assert_eq!(said(0.82, 4.0), "8 in 10");
        assert_eq!(said(0.001, 4.0), "fewer than 1 in 200");
        assert_eq!(said(0.0, 0.0), "no call expected");
    }
}
