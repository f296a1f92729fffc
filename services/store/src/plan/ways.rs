//! Ways between a shop's places: known ones, and the rest reckoned from coordinates.
//!
//! Belongs here: the shop's own place, its roads, the table of known ways and its CSV. Does not
//! belong here: the formula for the rest, which is the roster's.

use std::collections::BTreeMap;

use roster::plan::{Roads, Travel};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::live_feed;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::Faults;

/// Most known ways of a shop: those between 50 places. More are refused, with the number.
pub const WAYS_MAX: usize = 2_500;

/// Longest known way, minutes.
pub const WAY_MIN_MAX: i64 = 1_440;

/// Most faults of a table that are told at once.
const FAULTS_MAX: usize = 20;

/// How the shop is named in the table.
pub const SHOP_WORD: &str = "shop";

/// Road length over great circle.
const FACTOR: std::ops::RangeInclusive<f64> = 1.0..=3.0;

/// Average speed, km/h.
const KM_PER_H: std::ops::RangeInclusive<f64> = 5.0..=130.0;

/// A place that a plan knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Place {
    /// Where the day begins and ends.
    Shop,
    /// A customer's.
    Site(Uuid),
}

impl Place {
    fn of(site: Option<Uuid>) -> Self {
        site.map_or(Place::Shop, Place::Site)
    }
}

/// A shop's roads, as far as they are known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ways {
    /// How crow's miles become minutes.
    pub roads: Roads,
    /// Where the shop is: latitude and longitude in degrees.
    pub shop: Option<[f64; 2]>,
    /// How many ways are known.
    pub known: i64,
    /// Of the sites of open jobs, how many have no coordinates.
    pub sites_without: i64,
}

/// What to change; the rest stays.
#[derive(Clone, Debug, Default)]
pub struct WaysChange {
    /// Road length over great circle, 1 to 3.
    pub factor: Option<f64>,
    /// Average speed, 5 to 130 km/h.
    pub km_per_h: Option<f64>,
    /// Where the shop is.
    pub shop: Option<[f64; 2]>,
    /// The whole table of known ways as CSV: `from,to,minutes`, each place the id of a site or
    /// the word "shop"; further columns are for reading only. An empty text takes it out.
    pub known_csv: Option<String>,
}

#[derive(FromQueryResult)]
struct Row {
    roads: Value,
    latitude: Option<f64>,
    longitude: Option<f64>,
    known: i64,
    sites_without: i64,
}

/// A shop's roads.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn ways<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Ways, StoreError> {
    let row = Row::find_by_statement(sql(
        "SELECT roads, latitude, longitude, \
           (SELECT count(*) FROM travel_known WHERE shop_id = shop.id) AS known, \
           (SELECT count(DISTINCT site.id) FROM site JOIN unit ON unit.site_id = site.id \
             JOIN job ON job.unit_id = unit.id WHERE job.shop_id = shop.id \
             AND job.state NOT IN ('done', 'cancelled') AND site.latitude IS NULL) \
             AS sites_without \
         FROM shop WHERE id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    let usual = Roads::default();
    let number =
        |key: &str, usual: f64| row.roads.get(key).and_then(Value::as_f64).unwrap_or(usual);
    Ok(Ways {
        roads: Roads {
            factor: number("factor", usual.factor),
            km_per_h: number("km_per_h", usual.km_per_h),
        },
        shop: row.latitude.zip(row.longitude).map(|(lat, lon)| [lat, lon]),
        known: row.known,
        sites_without: row.sites_without,
    })
}

#[derive(FromQueryResult)]
struct SiteRow {
    id: Uuid,
    latitude: Option<f64>,
    longitude: Option<f64>,
}

#[derive(FromQueryResult)]
struct KnownRow {
    from_site: Option<Uuid>,
    to_site: Option<Uuid>,
    minutes: i32,
}

/// Minutes between the places, with a sentence for what had to be guessed.
pub(crate) async fn travel<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    places: &[Place],
    notes: &mut Vec<String>,
) -> Result<Travel, StoreError> {
    let shop = ways(conn, shop_id).await?;
    let ids: Vec<Uuid> = places
        .iter()
        .filter_map(|place| match place {
            Place::Site(id) => Some(*id),
            Place::Shop => None,
        })
        .collect();
    let sites: BTreeMap<Uuid, Option<[f64; 2]>> = SiteRow::find_by_statement(sql(
        "SELECT id, latitude, longitude FROM site WHERE id = ANY($1)",
        [ids.clone().into()],
    ))
    .all(conn)
    .await?
    .into_iter()
    .map(|row| (row.id, row.latitude.zip(row.longitude).map(|(lat, lon)| [lat, lon])))
    .collect();
    let known_rows = KnownRow::find_by_statement(sql(
        "SELECT from_site, to_site, minutes FROM travel_known WHERE shop_id = $1 \
           AND (from_site IS NULL OR from_site = ANY($2)) \
           AND (to_site IS NULL OR to_site = ANY($2))",
        [shop_id.into(), ids.into()],
    ))
    .all(conn)
    .await?;
    let index: BTreeMap<Place, usize> =
        places.iter().enumerate().map(|(index, place)| (*place, index)).collect();
    let known: BTreeMap<(usize, usize), i64> = known_rows
        .into_iter()
        .filter_map(|row| {
            let from = index.get(&Place::of(row.from_site))?;
            let to = index.get(&Place::of(row.to_site))?;
            Some(((*from, *to), i64::from(row.minutes)))
        })
        .collect();
    let found: Vec<[f64; 2]> = sites.values().flatten().copied().collect();
    let middle = || {
        let count = found.len() as f64;
        let mean = |axis: usize| found.iter().map(|point| point[axis]).sum::<f64>() / count;
        (!found.is_empty()).then(|| [mean(0), mean(1)])
    };
    let points: Vec<Option<[f64; 2]>> = places
        .iter()
        .map(|place| match place {
            Place::Shop => shop.shop.or_else(middle),
            Place::Site(id) => sites.get(id).copied().flatten(),
        })
        .collect();
    if shop.shop.is_none() && !found.is_empty() {
        notes.push(
            "The shop has no place set; it is taken to lie in the middle of the sites.".to_owned(),
        );
    }
    let without = points.iter().skip(1).filter(|point| point.is_none()).count();
    if without > 0 {
        notes.push(format!(
            "{without} of {} sites have no coordinates: the ways to them are guessed as {} min.",
            places.len() - 1,
            roster::plan::GUESSED_WAY_MIN
        ));
    }
    let size = places.len();
    if known.len() < size * size.saturating_sub(1) {
        notes.push(format!(
            "Ways are reckoned as the crow flies, times {:.2}, at {:.0} km/h{}.",
            shop.roads.factor,
            shop.roads.km_per_h,
            if known.is_empty() { String::new() } else { format!("; {} are known", known.len()) }
        ));
    }
    Ok(Travel::mixed(&points, shop.roads, &known))
}

/// Changes the caller's shop's roads, on the record.
///
/// # Errors
/// `Forbidden` unless they give out work, `InvalidMany` with the lines that are wrong, or the
/// database fails.
pub async fn ways_change(
    store: &Store,
    caller: &Caller,
    change: WaysChange,
) -> Result<Ways, StoreError> {
    caller.must_schedule("change how ways are reckoned")?;
    let mut faults = Faults::default();
    let within = |faults: &mut Faults,
                  at: &str,
                  value: Option<f64>,
                  range: &std::ops::RangeInclusive<f64>| {
        if value.is_some_and(|value| !range.contains(&value)) {
            faults.add(at, format!("This must lie between {} and {}.", range.start(), range.end()));
        }
    };
    within(&mut faults, "/factor", change.factor, &FACTOR);
    within(&mut faults, "/km_per_h", change.km_per_h, &KM_PER_H);
    within(&mut faults, "/latitude", change.shop.map(|at| at[0]), &(-90.0..=90.0));
    within(&mut faults, "/longitude", change.shop.map(|at| at[1]), &(-180.0..=180.0));
    let table = change.known_csv.as_deref().map(|text| read_table(text, &mut faults));
    faults.done()?;

    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM shop WHERE id = $1 FOR UPDATE", [caller.shop_id.into()]))
        .await?;
    let before = ways(&txn, caller.shop_id).await?;
    let roads = json!({
        "factor": change.factor.unwrap_or(before.roads.factor),
        "km_per_h": change.km_per_h.unwrap_or(before.roads.km_per_h),
    });
    let shop = change.shop.or(before.shop);
    txn.execute_raw(sql(
        "UPDATE shop SET roads = $2, latitude = $3, longitude = $4 WHERE id = $1",
        [
            caller.shop_id.into(),
            roads.clone().into(),
            shop.map(|at| at[0]).into(),
            shop.map(|at| at[1]).into(),
        ],
    ))
    .await?;
    if let Some(table) = &table {
        keep_table(&txn, caller.shop_id, table).await?;
    }
    let now = store.now();
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "ways_changed",
        subject_kind: "shop",
        subject_id: caller.shop_id,
        body: json!({ "roads": roads, "shop": shop, "known": table.as_ref().map(Vec::len) }),
    };
    record::append(&txn, now, entry).await?;
    live_feed::announce(&txn, now, caller.shop_id, "plan", caller.shop_id, json!({})).await?;
    let after = ways(&txn, caller.shop_id).await?;
    txn.commit().await?;
    Ok(after)
}

/// A line of the table: from, to, minutes, and its number.
type Line = (Option<Uuid>, Option<Uuid>, i64, u64);

fn read_table(text: &str, faults: &mut Faults) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    if text.trim().is_empty() {
        return lines;
    }
    let mut seen = BTreeMap::new();
    let mut wrong = 0;
    let mut add = |says: String| {
        wrong += 1;
        if wrong <= FAULTS_MAX {
            faults.add("/known_csv", says);
        }
    };
    let mut reader =
        csv::ReaderBuilder::new().trim(csv::Trim::All).flexible(true).from_reader(text.as_bytes());
    let header: Vec<String> = match reader.headers() {
        Ok(header) => header.iter().map(str::to_lowercase).collect(),
        Err(error) => {
            add(format!("The first line cannot be read: {error}."));
            return lines;
        }
    };
    if !header.iter().map(String::as_str).take(3).eq(["from", "to", "minutes"]) {
        add(format!("The first line must be \"from,to,minutes\"; it is \"{}\".", header.join(",")));
        return lines;
    }
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                add(format!("A line cannot be read: {error}."));
                continue;
            }
        };
        let number = record.position().map_or(0, csv::Position::line);
        let place = |column: usize| {
            let word = record.get(column).unwrap_or_default();
            if word.eq_ignore_ascii_case(SHOP_WORD) {
                return Ok(None);
            }
            word.parse::<Uuid>().map(Some).map_err(|_| {
                format!(
                    "Line {number}: \"{word}\" is no place; write the id of a site, or \
                     \"{SHOP_WORD}\"."
                )
            })
        };
        let minutes = record.get(2).unwrap_or_default();
        let minutes = minutes
            .parse::<i64>()
            .ok()
            .filter(|minutes| (0..=WAY_MIN_MAX).contains(minutes))
            .ok_or_else(|| {
                format!(
                    "Line {number}: \"{minutes}\" is no number of minutes from 0 to {WAY_MIN_MAX}."
                )
            });
        match (place(0), place(1), minutes) {
            (Ok(from), Ok(to), Ok(minutes)) => {
                if let Some(first) = seen.insert((from, to), number) {
                    add(format!("Line {number} says again what line {first} says; take one out."));
                }
                lines.push((from, to, minutes, number));
            }
            (from, to, minutes) => {
                [from.err(), to.err(), minutes.err()].into_iter().flatten().for_each(&mut add);
            }
        }
    }
    if lines.len() > WAYS_MAX {
        add(format!("This has {} ways; at most {WAYS_MAX} can be kept.", lines.len()));
    }
    lines
}

async fn keep_table<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    table: &[Line],
) -> Result<(), StoreError> {
    let mut named: Vec<Uuid> =
        table.iter().flat_map(|(from, to, ..)| [*from, *to]).flatten().collect();
    named.sort_unstable();
    named.dedup();
    let ours: Vec<Uuid> = SiteRow::find_by_statement(sql(
        "SELECT id, latitude, longitude FROM site WHERE shop_id = $1 AND id = ANY($2)",
        [shop_id.into(), named.clone().into()],
    ))
    .all(txn)
    .await?
    .into_iter()
    .map(|row| row.id)
    .collect();
    let mut faults = Faults::default();
    for unknown in named.iter().filter(|site| !ours.contains(site)).take(FAULTS_MAX) {
        let line = table.iter().find(|(from, to, ..)| [*from, *to].contains(&Some(*unknown)));
        let line = line.map_or(0, |line| line.3);
        faults.add("/known_csv", format!("Line {line}: {unknown} is no site of this shop."));
    }
    faults.done()?;
    txn.execute_raw(sql("DELETE FROM travel_known WHERE shop_id = $1", [shop_id.into()])).await?;
    // The shop is no site: an empty text becomes null.
    let column = |of: fn(&Line) -> Option<Uuid>| -> Vec<String> {
        table.iter().map(|line| of(line).map_or_else(String::new, |id| id.to_string())).collect()
    };
    let minutes: Vec<i32> =
        table.iter().map(|line| i32::try_from(line.2).unwrap_or(i32::MAX)).collect();
    txn.execute_raw(sql(
        "INSERT INTO travel_known (shop_id, from_site, to_site, minutes) \
         SELECT $1, nullif(a, '')::uuid, nullif(b, '')::uuid, minutes \
         FROM unnest($2::text[], $3::text[], $4::integer[]) AS line (a, b, minutes)",
        [
            shop_id.into(),
            column(|line| line.0).into(),
            column(|line| line.1).into(),
            minutes.into(),
        ],
    ))
    .await?;
    Ok(())
}

/// A table to fill in: every two places of open jobs and the shop, with minutes as reckoned now.
///
/// # Errors
/// `Forbidden` unless they give out work, `Conflict` for more places than a table may hold, or
/// the database fails.
pub async fn table_to_fill(store: &Store, caller: &Caller) -> Result<String, StoreError> {
    caller.must_schedule("see the table of ways")?;
    #[derive(FromQueryResult)]
    struct Named {
        id: Uuid,
        words: String,
    }
    let conn = store.conn();
    let sites = Named::find_by_statement(sql(
        // A spreadsheet would take a text that begins so for a formula.
        "SELECT DISTINCT site.id, \
           ltrim(site.address || ', ' || site.town, '=+@- ') AS words \
         FROM site JOIN unit ON unit.site_id = site.id JOIN job ON job.unit_id = unit.id \
         WHERE job.shop_id = $1 AND job.state NOT IN ('done', 'cancelled') ORDER BY words, id",
        [caller.shop_id.into()],
    ))
    .all(conn)
    .await?;
    let size = sites.len() + 1;
    if size * (size - 1) > WAYS_MAX {
        return Err(StoreError::conflict(
            "too-many-places",
            format!(
                "{size} places have {} ways between them; a table holds at most {WAYS_MAX}.",
                size * (size - 1)
            ),
        ));
    }
    let mut places = vec![Place::Shop];
    places.extend(sites.iter().map(|site| Place::Site(site.id)));
    let travel = travel(conn, caller.shop_id, &places, &mut Vec::new()).await?;
    let name = |index: usize| match index.checked_sub(1).map(|site| &sites[site]) {
        None => (SHOP_WORD.to_owned(), "the shop"),
        Some(site) => (site.id.to_string(), site.words.as_str()),
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut write = |fields: [&str; 5]| {
        writer.write_record(fields).map_err(|error| StoreError::corrupt("table of ways", error))
    };
    write(["from", "to", "minutes", "from is", "to is"])?;
    for from in 0..size {
        for to in (0..size).filter(|to| *to != from) {
            let ((from_id, from_words), (to_id, to_words)) = (name(from), name(to));
            let minutes = travel.between_min(from, to).to_string();
            write([&from_id, &to_id, &minutes, from_words, to_words])?;
        }
    }
    let bytes = writer.into_inner().map_err(|error| StoreError::corrupt("table of ways", error))?;
    String::from_utf8(bytes).map_err(|error| StoreError::corrupt("table of ways", error))
}
