//! Ten thousand open jobs of two thousand customers.
//!
//! Belongs here: filling the place's database. Does not belong here: starting it.

use sea_orm::ConnectionTrait as _;
use store::Store;
use store::ambient::Ambient;

use super::place::Place;

/// Customers each with a site and a unit, jobs up to a number, and for every hundredth job a plan
/// today for one of the people, who are never in two places at once.
const FILL: &str = "
    INSERT INTO customer (id, shop_id, name, phone, created_at)
        SELECT gen_random_uuid(), shop.id, 'Customer ' || number, '555 ' || number, now()
        FROM shop, generate_series(1, 2000) AS number;
    INSERT INTO site (id, shop_id, customer_id, address, town, zone, created_at)
        SELECT gen_random_uuid(), customer.shop_id, customer.id, row_number() OVER () || ' Long Row',
            'Town', 'UTC', now() FROM customer WHERE phone IS NOT NULL;
    INSERT INTO unit (id, shop_id, site_id, label, circuit, created_at)
        SELECT gen_random_uuid(), shop_id, id, 'Heat pump, yard', 'compressor-1ph-plug', now()
        FROM site WHERE address LIKE '% Long Row';
    WITH numbered AS (
        SELECT id, shop_id, row_number() OVER () AS place FROM unit WHERE label LIKE 'Heat%'
    )
    INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, window_start,
            window_end, created_by, created_at, changed_at)
        SELECT gen_random_uuid(), numbered.shop_id, number, numbered.id,
            'No heat upstairs since the storm, and the outdoor unit hums without turning.',
            (ARRAY['no_heat_vulnerable', 'water', 'food_storage', 'no_heat_cool', 'comfort'])
                [1 + number % 5], 'open',
            CASE WHEN number % 3 = 0 THEN now() + number * interval '1 minute' END,
            CASE WHEN number % 3 = 0 THEN now() + number * interval '1 minute' + interval '4 h' END,
            (SELECT id FROM person LIMIT 1), now(), now()
        FROM generate_series(201, JOBS) AS number
        JOIN numbered ON numbered.place = 1 + number % 2000;
    WITH given AS (
        SELECT job.id, job.shop_id, people.id AS person_id, job.number / 1000 AS slot
        FROM job JOIN (SELECT id, row_number() OVER (ORDER BY email) - 1 AS place FROM person)
            AS people ON people.place = job.number / 100 % 10
        WHERE job.number > 200 AND job.number % 100 = 0
    ), held AS (
        UPDATE job SET state = 'assigned', assigned_to = given.person_id
        FROM given WHERE job.id = given.id
    )
    INSERT INTO assignment (id, shop_id, job_id, person_id, planned, assigned_by, at)
        SELECT gen_random_uuid(), shop_id, id, person_id,
            tstzrange(date_trunc('day', now()) + slot * interval '1 h',
                date_trunc('day', now()) + (slot + 1) * interval '1 h'),
            person_id, now()
        FROM given;
    UPDATE job_head SET last = JOBS;
    ANALYZE;
";

/// So many open jobs more; the answer is the shop's date.
pub(crate) async fn fill(place: &Place, jobs: usize) -> String {
    let store = Store::connect(&place.url, Ambient::from_os().unwrap(), 2).await.unwrap();
    store.conn().execute_unprepared(&FILL.replace("JOBS", &jobs.to_string())).await.unwrap();
    let today = store.now().date_naive().to_string();
    store.close().await;
    today
}
