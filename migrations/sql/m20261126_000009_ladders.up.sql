-- A shop's own ladders, quiet hours, who was told at which step; holdovers and what customers
-- answer to them.
SET LOCAL lock_timeout = '3s';

-- Ladders --------------------------------------------------------------------------------

-- Every version that a shop made of its ladders; the highest is in force, none means those that
-- ship.
CREATE TABLE ladder_setting (
    shop_id uuid NOT NULL REFERENCES shop (id),
    version integer NOT NULL CHECK (version > 0),
    body jsonb NOT NULL CHECK (jsonb_typeof(body) = 'object'),
    made_by uuid NOT NULL REFERENCES person (id),
    why text NOT NULL DEFAULT '',
    at timestamptz NOT NULL,
    CONSTRAINT ladder_setting_key PRIMARY KEY (shop_id, version)
);
CREATE TRIGGER ladder_setting_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON ladder_setting
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Somebody's own quiet hours; without a row the shop's hold. Minutes after midnight in their own
-- zone; both null means none at all.
CREATE TABLE person_quiet (
    person_id uuid PRIMARY KEY REFERENCES person (id),
    shop_id uuid NOT NULL REFERENCES shop (id),
    from_min smallint CHECK (from_min BETWEEN 0 AND 1439),
    to_min smallint CHECK (to_min BETWEEN 0 AND 1439),
    zone text NOT NULL CHECK (zone <> ''),
    changed_at timestamptz NOT NULL,
    CONSTRAINT person_quiet_both CHECK ((from_min IS NULL) = (to_min IS NULL))
);

-- By which version and variant it climbs. The defaults are for the binary before.
ALTER TABLE ladder
    ADD COLUMN setting_version integer NOT NULL DEFAULT 0,
    ADD COLUMN variant text NOT NULL DEFAULT 'week',
    -- How urgent the job was when its ladder started; null for ladders of requests.
    ADD COLUMN urgency text;
ALTER TABLE ladder
    ADD CONSTRAINT ladder_variant CHECK (variant IN ('week', 'weekend')) NOT VALID;

ALTER TABLE ladder_step
    -- The step as the shop's version has it; null on what an older binary started.
    ADD COLUMN spec jsonb,
    -- When it was to fire before anything moved it.
    ADD COLUMN planned_at timestamptz,
    -- Until when it waits, since everybody it would ask has quiet hours.
    ADD COLUMN held_until timestamptz,
    -- What became of it, in words.
    ADD COLUMN note text NOT NULL DEFAULT '';

-- Whom a step reached.
CREATE TABLE ladder_told (
    ladder_id uuid NOT NULL,
    rung smallint NOT NULL,
    person_id uuid NOT NULL REFERENCES person (id),
    -- Asked to take it, or only told of it.
    asked boolean NOT NULL,
    mailed boolean NOT NULL,
    at timestamptz NOT NULL,
    -- Set when they said no.
    declined_at timestamptz,
    reason text NOT NULL DEFAULT '',
    PRIMARY KEY (ladder_id, rung, person_id),
    FOREIGN KEY (ladder_id, rung) REFERENCES ladder_step (ladder_id, rung),
    CONSTRAINT ladder_told_reason
        CHECK (declined_at IS NULL OR length(btrim(reason)) >= 5)
);
CREATE INDEX ladder_told_by_person ON ladder_told (person_id, at);

-- Holdovers ------------------------------------------------------------------------------

ALTER TABLE shop ADD COLUMN phone text;

-- What makes a site safe until a working day.
CREATE TABLE holdover (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    measures text[] NOT NULL,
    -- Which questions were asked and answered with yes.
    checked text[] NOT NULL DEFAULT '{}',
    note text NOT NULL DEFAULT '',
    until timestamptz NOT NULL,
    made_at timestamptz NOT NULL,
    -- Null where a rule deferred it.
    made_by uuid REFERENCES person (id),
    why text NOT NULL CHECK (why <> ''),
    -- How urgent the job was when it was deferred.
    urgency text NOT NULL,
    -- How the customer is told: by mail, or read out on the telephone where there is no address.
    told text NOT NULL CHECK (told IN ('mail', 'telephone')),
    -- SHA-256 of the token in the customer's link.
    token_hash text NOT NULL CONSTRAINT holdover_token UNIQUE,
    link_until timestamptz NOT NULL,
    ended_at timestamptz,
    ended_why text CHECK (ended_why IN ('returned', 'worse', 'taken_back', 'closed', 'deferred_again')),
    -- What the customer answered when it got worse.
    answers jsonb,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    CONSTRAINT holdover_until CHECK (until > made_at),
    CONSTRAINT holdover_ended CHECK ((ended_at IS NULL) = (ended_why IS NULL)),
    CONSTRAINT holdover_answers
        CHECK (coalesce(ended_why = 'worse', false) = (answers IS NOT NULL))
);
CREATE UNIQUE INDEX holdover_one_standing ON holdover (job_id) WHERE ended_at IS NULL;
CREATE INDEX holdover_by_job ON holdover (job_id, made_at);
CREATE INDEX holdover_due ON holdover (until) WHERE ended_at IS NULL;

-- It ends once, and otherwise stays as it was said.
CREATE FUNCTION holdover_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR OLD.ended_at IS NOT NULL
        OR (NEW.job_id, NEW.measures, NEW.note, NEW.until, NEW.made_at, NEW.why, NEW.token_hash)
            <> (OLD.job_id, OLD.measures, OLD.note, OLD.until, OLD.made_at, OLD.why, OLD.token_hash)
        THEN
        PERFORM gate_refuse('holdover_once', 'a holdover ends once and stays as it was said');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER holdover_guard BEFORE UPDATE OR DELETE ON holdover
    FOR EACH ROW EXECUTE FUNCTION holdover_guard();
