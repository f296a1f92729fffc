-- A shop of six with one job, and a shop next door with one person.
INSERT INTO shop (id, name, zone, currency, approval_limit_cents, created_at) VALUES
    ('00000000-0000-7000-8000-000000000001', 'Here', 'UTC', 'USD', 50000, now()),
    ('00000000-0000-7000-8000-000000000002', 'Elsewhere', 'UTC', 'USD', 50000, now());
INSERT INTO record_head (shop_id) SELECT id FROM shop;
INSERT INTO person (id, shop_id, email, name, password_hash, roles, qualifications, created_at) VALUES
    ('00000000-0000-7000-8000-000000000011', '00000000-0000-7000-8000-000000000001',
     'ana@here.example', 'Ana', '-', '{technician}', '{sealed_system}', now()),
    ('00000000-0000-7000-8000-000000000012', '00000000-0000-7000-8000-000000000001',
     'bo@here.example', 'Bo', '-', '{technician}', '{sealed_system}', now()),
    ('00000000-0000-7000-8000-000000000013', '00000000-0000-7000-8000-000000000001',
     'cleo@here.example', 'Cleo', '-', '{technician}', '{sealed_system}', now()),
    ('00000000-0000-7000-8000-000000000014', '00000000-0000-7000-8000-000000000001',
     'dan@here.example', 'Dan', '-', '{service_manager}', '{}', now()),
    ('00000000-0000-7000-8000-000000000015', '00000000-0000-7000-8000-000000000001',
     'eva@here.example', 'Eva', '-', '{technician,owner}', '{sealed_system}', now()),
    ('00000000-0000-7000-8000-000000000016', '00000000-0000-7000-8000-000000000001',
     'fay@here.example', 'Fay', '-', '{technician}', '{electrical}', now()),
    ('00000000-0000-7000-8000-000000000019', '00000000-0000-7000-8000-000000000002',
     'gus@elsewhere.example', 'Gus', '-', '{technician}', '{sealed_system}', now());
INSERT INTO customer (id, shop_id, name, created_at) VALUES
    ('00000000-0000-7000-8000-000000000031', '00000000-0000-7000-8000-000000000001', 'C', now());
INSERT INTO site (id, shop_id, customer_id, address, town, zone, created_at) VALUES
    ('00000000-0000-7000-8000-000000000032', '00000000-0000-7000-8000-000000000001',
     '00000000-0000-7000-8000-000000000031', '1 Street', 'Town', 'UTC', now());
INSERT INTO unit (id, shop_id, site_id, label, circuit, created_at) VALUES
    ('00000000-0000-7000-8000-000000000033', '00000000-0000-7000-8000-000000000001',
     '00000000-0000-7000-8000-000000000032', 'Roof unit 2', 'compressor-1ph-plug', now());
INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, assigned_to, created_by,
        created_at, changed_at) VALUES
    ('00000000-0000-7000-8000-000000000041', '00000000-0000-7000-8000-000000000001', 1,
     '00000000-0000-7000-8000-000000000033', 'Warm', 'comfort', 'on_site',
     '00000000-0000-7000-8000-000000000011', '00000000-0000-7000-8000-000000000011', now(), now());
