-- Shops, people, sessions, the estate, jobs, the record, the outbox, repeated writes.
-- Every table that belongs to a shop carries shop_id, and every query filters by it.

-- Lets one constraint compare ids by equality and planned times by overlap.
CREATE EXTENSION IF NOT EXISTS btree_gist;

-- What is on the record stays as it was written. Triggers that call this are named
-- <table>_append_only.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of % are never changed or removed', TG_TABLE_NAME
        USING ERRCODE = 'check_violation', CONSTRAINT = TG_TABLE_NAME || '_append_only';
END $$;

CREATE TABLE shop (
    id uuid PRIMARY KEY,
    name text NOT NULL CHECK (name <> ''),
    zone text NOT NULL,
    currency text NOT NULL CHECK (currency ~ '^[A-Z]{3}$'),
    -- Under this amount a policy may answer for the money; from it on a person does.
    approval_limit_cents bigint NOT NULL DEFAULT 50000 CHECK (approval_limit_cents >= 0),
    policy jsonb NOT NULL DEFAULT '{}',
    approval_rules jsonb NOT NULL
        DEFAULT '{"warranty": true, "age_years": null, "disagreement": true, "override": true}',
    created_at timestamptz NOT NULL
);

-- The record -----------------------------------------------------------------------------

-- The end of each shop's chain. Locking its row puts entries in one order.
CREATE TABLE record_head (
    shop_id uuid PRIMARY KEY REFERENCES shop (id),
    seq bigint NOT NULL DEFAULT 0,
    hash text NOT NULL DEFAULT repeat('0', 64)
);

CREATE TABLE record_entry (
    shop_id uuid NOT NULL REFERENCES shop (id),
    seq bigint NOT NULL CHECK (seq > 0),
    at timestamptz NOT NULL,
    actor uuid,
    kind text NOT NULL,
    subject_kind text NOT NULL,
    subject_id uuid NOT NULL,
    body jsonb NOT NULL,
    prev_hash text NOT NULL,
    hash text NOT NULL,
    PRIMARY KEY (shop_id, seq)
);
CREATE INDEX record_entry_by_subject ON record_entry (shop_id, subject_kind, subject_id, seq);
CREATE TRIGGER record_entry_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON record_entry
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- People and sessions --------------------------------------------------------------------

CREATE TABLE person (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    email text NOT NULL,
    name text NOT NULL CHECK (name <> ''),
    password_hash text NOT NULL,
    roles text[] NOT NULL
        CHECK (roles <@ ARRAY['technician', 'service_manager', 'scheduler', 'owner']),
    qualifications text[] NOT NULL DEFAULT '{}'
        CHECK (qualifications <@ ARRAY['sealed_system', 'three_phase', 'combustion', 'electrical']),
    phone text,
    licence text,
    active boolean NOT NULL DEFAULT true,
    created_at timestamptz NOT NULL
);
CREATE UNIQUE INDEX person_email_key ON person (lower(email));
CREATE INDEX person_by_shop ON person (shop_id);

CREATE TABLE session (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    person_id uuid NOT NULL REFERENCES person (id),
    created_at timestamptz NOT NULL,
    seen_at timestamptz NOT NULL,
    agent text NOT NULL,
    -- SHA-256 of the refresh token in force.
    refresh_hash text NOT NULL UNIQUE,
    refreshed_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    revoked_at timestamptz
);
CREATE INDEX session_by_person ON session (person_id, created_at);

-- Refresh tokens that were replaced. Seeing one again means that somebody copied it, and ends
-- the session.
CREATE TABLE refresh_used (
    refresh_hash text PRIMARY KEY,
    session_id uuid NOT NULL REFERENCES session (id),
    at timestamptz NOT NULL
);
CREATE INDEX refresh_used_by_session ON refresh_used (session_id);

CREATE TABLE signin_attempt (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    email_lower text NOT NULL,
    address text NOT NULL,
    at timestamptz NOT NULL,
    ok boolean NOT NULL
);
CREATE INDEX signin_attempt_by_email ON signin_attempt (email_lower, at);

-- The estate -----------------------------------------------------------------------------

CREATE TABLE customer (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    name text NOT NULL CHECK (name <> ''),
    phone text,
    email text,
    notes text NOT NULL DEFAULT '',
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    UNIQUE (shop_id, id)
);

CREATE TABLE site (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    customer_id uuid NOT NULL,
    address text NOT NULL CHECK (address <> ''),
    town text NOT NULL CHECK (town <> ''),
    altitude_ft integer CHECK (altitude_ft BETWEEN -1500 AND 20000),
    zone text NOT NULL,
    notes text NOT NULL DEFAULT '',
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id)
);
CREATE INDEX site_by_customer ON site (customer_id);

CREATE TABLE unit (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    site_id uuid NOT NULL,
    label text NOT NULL CHECK (label <> ''),
    maker text NOT NULL DEFAULT '',
    model text NOT NULL DEFAULT '',
    serial text NOT NULL DEFAULT '',
    circuit text NOT NULL,
    refrigerant text,
    flammable boolean NOT NULL DEFAULT false,
    installed_on date,
    warranty_until date,
    specs jsonb NOT NULL DEFAULT '{}' CHECK (jsonb_typeof(specs) = 'object'),
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, site_id) REFERENCES site (shop_id, id)
);
CREATE INDEX unit_by_site ON unit (site_id);

-- Jobs -----------------------------------------------------------------------------------

-- The last job number given in each shop, counted under its row lock.
CREATE TABLE job_head (
    shop_id uuid PRIMARY KEY REFERENCES shop (id),
    last integer NOT NULL DEFAULT 0
);

CREATE TABLE job (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    number integer NOT NULL CHECK (number > 0),
    unit_id uuid NOT NULL,
    complaint text NOT NULL CHECK (complaint <> ''),
    urgency text NOT NULL CHECK (urgency IN
        ('no_heat_vulnerable', 'water', 'food_storage', 'no_heat_cool', 'comfort')),
    state text NOT NULL CHECK (state IN
        ('open', 'assigned', 'on_site', 'waiting', 'done', 'cancelled')),
    assigned_to uuid REFERENCES person (id),
    window_start timestamptz,
    window_end timestamptz,
    -- Counts readings, strikes and observations; what a signature was made on is compared
    -- with it.
    evidence_revision bigint NOT NULL DEFAULT 0,
    version integer NOT NULL DEFAULT 1,
    created_by uuid NOT NULL REFERENCES person (id),
    created_at timestamptz NOT NULL,
    changed_at timestamptz NOT NULL,
    UNIQUE (shop_id, id),
    CONSTRAINT job_number_key UNIQUE (shop_id, number),
    CONSTRAINT job_window CHECK
        ((window_start IS NULL) = (window_end IS NULL) AND window_start < window_end),
    CONSTRAINT job_assigned CHECK (state <> 'assigned' OR assigned_to IS NOT NULL),
    FOREIGN KEY (shop_id, unit_id) REFERENCES unit (shop_id, id)
);
CREATE INDEX job_by_state ON job (shop_id, state, changed_at);
CREATE INDEX job_by_unit ON job (unit_id);

-- Who was given a job, when it was planned for, and until when that stood. Two standing
-- plans of one person cannot overlap, whoever plans them at the same time.
CREATE TABLE assignment (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    person_id uuid NOT NULL REFERENCES person (id),
    planned tstzrange,
    assigned_by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    ended_at timestamptz,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    CONSTRAINT assignment_no_overlap
        EXCLUDE USING gist (person_id WITH =, planned WITH &&) WHERE (ended_at IS NULL)
);
CREATE UNIQUE INDEX assignment_one_standing ON assignment (job_id) WHERE ended_at IS NULL;

-- Outbox, mail, repeated writes ----------------------------------------------------------

CREATE TABLE outbox (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    kind text NOT NULL,
    payload jsonb NOT NULL,
    due_at timestamptz NOT NULL,
    attempts integer NOT NULL DEFAULT 0,
    done_at timestamptz,
    -- Set when the last attempt allowed has failed; the row stays for a person to see.
    given_up_at timestamptz,
    last_error text,
    created_at timestamptz NOT NULL
);
CREATE INDEX outbox_due ON outbox (due_at) WHERE done_at IS NULL AND given_up_at IS NULL;

CREATE TABLE mail (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    outbox_id uuid NOT NULL UNIQUE REFERENCES outbox (id),
    to_person uuid REFERENCES person (id),
    to_email text NOT NULL,
    template text NOT NULL,
    subject text NOT NULL,
    body_text text NOT NULL,
    -- Whether it left the machine, or is kept only, for want of a mail server.
    sent boolean NOT NULL,
    sent_at timestamptz NOT NULL
);
CREATE INDEX mail_by_shop ON mail (shop_id, sent_at);

CREATE TABLE idempotency (
    person_id uuid NOT NULL REFERENCES person (id),
    key uuid NOT NULL,
    route text NOT NULL,
    request_hash text NOT NULL,
    at timestamptz NOT NULL,
    -- Set in the transaction of the write itself.
    carried_out boolean NOT NULL DEFAULT false,
    status smallint,
    body text,
    PRIMARY KEY (person_id, key)
);
CREATE INDEX idempotency_by_age ON idempotency (at);
