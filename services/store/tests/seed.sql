-- One shop with two technicians, their sessions and a job; another shop with one technician.
INSERT INTO shop (id, name, zone, currency, created_at) VALUES
    ('00000000-0000-7000-8000-000000000001', 'Here', 'UTC', 'USD', now()),
    ('00000000-0000-7000-8000-000000000002', 'Elsewhere', 'UTC', 'USD', now());
INSERT INTO record_head (shop_id) SELECT id FROM shop;
INSERT INTO person (id, shop_id, email, name, password_hash, roles, created_at) VALUES
    ('00000000-0000-7000-8000-000000000011', '00000000-0000-7000-8000-000000000001',
     'ana@here.example', 'Ana', '-', '{technician}', now()),
    ('00000000-0000-7000-8000-000000000012', '00000000-0000-7000-8000-000000000001',
     'bo@here.example', 'Bo', '-', '{technician}', now()),
    ('00000000-0000-7000-8000-000000000013', '00000000-0000-7000-8000-000000000002',
     'cy@elsewhere.example', 'Cy', '-', '{technician}', now());
-- A session's id ends in 2, then its person's last digit.
INSERT INTO session (id, shop_id, person_id, created_at, seen_at, agent, refresh_hash,
        refreshed_at, expires_at)
    SELECT ('00000000-0000-7000-8000-00000000002' || right(id::text, 1))::uuid, shop_id, id,
        now(), now(), 'test', id::text, now(), 'infinity' FROM person;
INSERT INTO customer (id, shop_id, name, created_at) VALUES
    ('00000000-0000-7000-8000-000000000031', '00000000-0000-7000-8000-000000000001', 'C', now());
INSERT INTO site (id, shop_id, customer_id, address, town, zone, created_at) VALUES
    ('00000000-0000-7000-8000-000000000032', '00000000-0000-7000-8000-000000000001',
     '00000000-0000-7000-8000-000000000031', '1 Street', 'Town', 'UTC', now());
INSERT INTO unit (id, shop_id, site_id, label, circuit, created_at) VALUES
    ('00000000-0000-7000-8000-000000000033', '00000000-0000-7000-8000-000000000001',
     '00000000-0000-7000-8000-000000000032', 'Unit', 'any', now());
INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, created_by, created_at,
        changed_at) VALUES
    ('00000000-0000-7000-8000-000000000041', '00000000-0000-7000-8000-000000000001', 1,
     '00000000-0000-7000-8000-000000000033', 'Warm', 'comfort', 'open',
     '00000000-0000-7000-8000-000000000011', now(), now());
INSERT INTO reading (id, shop_id, job_id, label, body, taken_by, taken_at) VALUES
    ('00000000-0000-7000-8000-000000000051', '00000000-0000-7000-8000-000000000001',
     '00000000-0000-7000-8000-000000000041', 'r1', '{}',
     '00000000-0000-7000-8000-000000000011', now());
