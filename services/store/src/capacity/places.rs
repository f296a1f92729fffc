//! The towns that a shop's calls come from, their shares, and the ways between them.
//!
//! Belongs here: putting sites together to towns for the simulation. Does not belong here: the
//! formula of a way ([`crate::plan::ways`]), and the arithmetic of shares
//! ([`roster::capacity::places`]).

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use roster::capacity::places::{PLACES_MAX, Places, SHOP, WITHIN_MIN, shares};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::sql;
use crate::error::StoreError;
use crate::plan::ways::{Place, SHOP_WORD, travel};

/// Sites that are looked at, those with the most calls; the rest count as elsewhere.
const SITES_MAX: i64 = 20_000;

/// Sites of a town between which ways are reckoned, those with the most calls; the town's way is
/// their mean.
const SITES_EACH_MAX: usize = 12;

/// Where a shop's calls come from.
#[derive(Clone, Debug, Default)]
pub struct ShopPlaces {
    /// The towns and the ways between them, the shop first.
    pub places: Places,
    /// Their shares of the calls, that of elsewhere first; empty where no town can be placed.
    pub shares: Vec<f64>,
    /// How it was come by, a sentence each.
    pub notes: Vec<String>,
    of_site: BTreeMap<Uuid, usize>,
}

impl ShopPlaces {
    /// The place of a site; none where the way there is not known.
    pub fn of_site(&self, site_id: Uuid) -> Option<usize> {
        self.of_site.get(&site_id).copied()
    }
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    town: String,
    /// It has coordinates, or somebody knows a way there.
    placed: bool,
    calls: i64,
}

struct Town {
    name: String,
    sites: Vec<Uuid>,
    placed: Vec<Uuid>,
    calls: f64,
}

/// The shop's towns, with the calls that came since a moment.
///
/// # Errors
/// When the database fails.
pub async fn of_shop<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    since: DateTime<Utc>,
    usual_min: i64,
) -> Result<ShopPlaces, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT site.id, site.town, \
             site.latitude IS NOT NULL OR EXISTS (SELECT FROM travel_known AS known \
                 WHERE known.shop_id = site.shop_id AND known.from_site IS NULL \
                     AND known.to_site = site.id) AS placed, \
             count(job.id) AS calls \
         FROM site LEFT JOIN unit ON unit.site_id = site.id \
             LEFT JOIN job ON job.unit_id = unit.id AND job.created_at >= $2 \
         WHERE site.shop_id = $1 GROUP BY site.id ORDER BY calls DESC, site.id LIMIT $3",
        [shop_id.into(), since.into(), SITES_MAX.into()],
    ))
    .all(conn)
    .await?;
    let sites = rows.len();
    let (towns, elsewhere) = towns(rows);
    if towns.is_empty() {
        return Ok(ShopPlaces::default());
    }
    let mut ids = vec![Place::Shop];
    // Which rows of the ways are of which place.
    let mut of_place = vec![vec![0]];
    for town in &towns {
        of_place.push((ids.len()..ids.len() + town.placed.len()).collect());
        ids.extend(town.placed.iter().copied().map(Place::Site));
    }
    let mut notes = Vec::new();
    let ways = travel(conn, shop_id, &ids, &mut notes).await?;
    let mean = |from: &[usize], to: &[usize]| {
        let pairs = from.iter().flat_map(|from| to.iter().map(move |to| (*from, *to)));
        let minutes: Vec<f64> = pairs
            .filter(|(from, to)| from != to)
            .map(|(from, to)| ways.between_min(from, to) as f64)
            .collect();
        // With one site there is no other to drive to; the next one called from will be near.
        if minutes.is_empty() {
            WITHIN_MIN
        } else {
            minutes.iter().sum::<f64>() / minutes.len() as f64
        }
    };
    let count = of_place.len();
    let way_min = (0..count * count)
        .map(|cell| (cell / count, cell % count))
        .map(|(from, to)| match (from, to) {
            (SHOP, SHOP) => 0.0,
            (from, to) => mean(&of_place[from], &of_place[to]),
        })
        .collect();
    let names = std::iter::once(SHOP_WORD.to_owned()).chain(towns.iter().map(|t| t.name.clone()));
    let of_town = |of: &dyn Fn(&Town) -> f64, else_: f64| -> Vec<f64> {
        std::iter::once(else_).chain(towns.iter().map(of)).collect()
    };
    let site_counts = of_town(&|town| town.sites.len() as f64, elsewhere.0);
    let calls = of_town(&|town| town.calls, elsewhere.1);
    let says = match towns.as_slice() {
        [one] => format!("Calls are expected from {}", one.name),
        many => format!("Calls are expected from {} towns", many.len()),
    };
    notes.insert(
        0,
        format!(
            "{says} by the calls of the past and the {sites} sites on file (common practice, no \
             source); a call from elsewhere, or from where no way is known, is {usual_min} min \
             away."
        ),
    );
    let of_site = (1..)
        .zip(&towns)
        .flat_map(|(place, town)| town.sites.iter().map(move |site| (*site, place)))
        .collect();
    Ok(ShopPlaces {
        places: Places::of(names.collect(), way_min).unwrap_or_default(),
        shares: shares(&site_counts, &calls),
        notes,
        of_site,
    })
}

/// The towns with a site that has a place, the most calls and sites first, as far as the
/// simulation takes them; sites and calls of everywhere else.
fn towns(rows: Vec<Row>) -> (Vec<Town>, (f64, f64)) {
    let mut by_name: BTreeMap<String, Town> = BTreeMap::new();
    for row in rows {
        let words: Vec<&str> = row.town.split_whitespace().collect();
        let name = words.join(" ");
        let town = by_name.entry(name.to_lowercase()).or_insert_with(|| Town {
            name,
            sites: Vec::new(),
            placed: Vec::new(),
            calls: 0.0,
        });
        town.sites.push(row.id);
        town.calls += row.calls as f64;
        if row.placed && town.placed.len() < SITES_EACH_MAX {
            town.placed.push(row.id);
        }
    }
    let (mut towns, mut rest): (Vec<Town>, Vec<Town>) =
        by_name.into_values().partition(|town| !town.placed.is_empty());
    let weight = |town: &Town| town.calls + town.sites.len() as f64;
    towns.sort_by(|one, other| weight(other).total_cmp(&weight(one)));
    rest.extend(towns.split_off(towns.len().min(PLACES_MAX - 1)));
    let sites = rest.iter().map(|town| town.sites.len() as f64).sum();
    let calls = rest.iter().map(|town| town.calls).sum();
    (towns, (sites, calls))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(id: u128, town: &str, placed: bool, calls: i64) -> Row {
        Row { id: Uuid::from_u128(id), town: town.to_owned(), placed, calls }
    }

    #[test]
    fn sites_of_a_town_go_together_however_it_is_written() {
        let (towns, elsewhere) = towns(vec![
            site(1, "Upper  Marrow", true, 7),
            site(2, "Sedge", false, 4),
            site(3, "upper marrow ", false, 2),
            site(4, "Fennel Cross", true, 30),
        ]);
        let names: Vec<&str> = towns.iter().map(|town| town.name.as_str()).collect();
        assert_eq!(names, ["Fennel Cross", "Upper Marrow"]);
        assert_eq!((towns[1].sites.len(), towns[1].placed.len(), towns[1].calls), (2, 1, 9.0));
        // Nobody knows the way to Sedge.
        assert_eq!(elsewhere, (1.0, 4.0));
    }

    #[test]
    fn what_is_beyond_the_limit_is_elsewhere() {
        let rows = (0..60).map(|id| site(id, &format!("Town {id}"), true, 60 - id as i64));
        let (towns, elsewhere) = towns(rows.collect());
        assert_eq!(towns.len(), PLACES_MAX - 1);
        assert_eq!(elsewhere, (20.0, (1..=20).sum::<i64>() as f64));
    }
}
