-- Proposals for a day or a weekend, what was taken of them, pins, and known ways.
SET LOCAL lock_timeout = '3s';

ALTER TABLE shop
    -- How crow's miles become minutes: {"factor", "km_per_h"}; empty for the defaults, which
    -- are roster::plan's.
    ADD COLUMN roads jsonb NOT NULL DEFAULT '{}',
    -- Where the day begins and ends for whoever has no place of their own.
    ADD COLUMN latitude double precision,
    ADD COLUMN longitude double precision;
ALTER TABLE shop
    ADD CONSTRAINT shop_roads CHECK (jsonb_typeof(roads) = 'object'),
    ADD CONSTRAINT shop_place CHECK ((latitude IS NULL) = (longitude IS NULL)
        AND latitude BETWEEN -90 AND 90 AND longitude BETWEEN -180 AND 180);

-- Minutes between two places, from somebody who knows the roads. No site is the shop itself.
CREATE TABLE travel_known (
    shop_id uuid NOT NULL REFERENCES shop (id),
    from_site uuid,
    to_site uuid,
    minutes integer NOT NULL CHECK (minutes BETWEEN 0 AND 1440),
    FOREIGN KEY (shop_id, from_site) REFERENCES site (shop_id, id),
    FOREIGN KEY (shop_id, to_site) REFERENCES site (shop_id, id),
    CONSTRAINT travel_known_once UNIQUE NULLS NOT DISTINCT (shop_id, from_site, to_site)
);

-- A job that proposals leave where it is.
CREATE TABLE job_pin (
    job_id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    pinned_by uuid NOT NULL REFERENCES person (id),
    pinned_at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id)
);
CREATE INDEX job_pin_by_shop ON job_pin (shop_id);

CREATE TABLE plan_proposal (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    asked_by uuid NOT NULL REFERENCES person (id),
    asked_at timestamptz NOT NULL,
    during tstzrange NOT NULL,
    -- The live feed's number up to which the board was known.
    as_of_live bigint NOT NULL,
    -- What it was made from, what was found, and what that changes.
    body jsonb NOT NULL CHECK (jsonb_typeof(body) = 'object'),
    state text NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'taken', 'dropped')),
    settled_by uuid REFERENCES person (id),
    settled_at timestamptz,
    UNIQUE (shop_id, id),
    CONSTRAINT plan_proposal_during CHECK
        (NOT isempty(during) AND NOT lower_inf(during) AND NOT upper_inf(during)),
    CONSTRAINT plan_proposal_settled CHECK ((state = 'open') = (settled_at IS NULL))
);
CREATE INDEX plan_proposal_by_shop ON plan_proposal (shop_id, asked_at);
CREATE TRIGGER plan_proposal_no_guest BEFORE INSERT ON plan_proposal
    FOR EACH ROW EXECUTE FUNCTION guest_never('asked_by');

-- What was proposed stays as it was; only its end is added.
CREATE FUNCTION plan_proposal_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR (NEW.id, NEW.shop_id, NEW.asked_by, NEW.asked_at, NEW.during, NEW.body)
        IS DISTINCT FROM
        (OLD.id, OLD.shop_id, OLD.asked_by, OLD.asked_at, OLD.during, OLD.body) THEN
        PERFORM gate_refuse('plan_proposal_fixed', 'a proposal is never rewritten');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER plan_proposal_guard BEFORE UPDATE OR DELETE ON plan_proposal
    FOR EACH ROW EXECUTE FUNCTION plan_proposal_guard();

-- Each time something of a proposal was taken over: the jobs as they were and as they became.
CREATE TABLE plan_taking (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    proposal_id uuid NOT NULL,
    taken_by uuid NOT NULL REFERENCES person (id),
    taken_at timestamptz NOT NULL,
    moves jsonb NOT NULL CHECK (jsonb_typeof(moves) = 'array'),
    undone_by uuid REFERENCES person (id),
    undone_at timestamptz,
    FOREIGN KEY (shop_id, proposal_id) REFERENCES plan_proposal (shop_id, id),
    CONSTRAINT plan_taking_undone CHECK ((undone_by IS NULL) = (undone_at IS NULL))
);
CREATE INDEX plan_taking_by_proposal ON plan_taking (proposal_id, taken_at);
