-- Rules, their firings and what they set going; what capacity is reckoned with.

-- Rules ----------------------------------------------------------------------------------

-- A rule, whatever its version says. Its last look is here, since that changes.
CREATE TABLE rule (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    created_at timestamptz NOT NULL,
    -- The condition has been false since the rule last fired.
    armed boolean NOT NULL DEFAULT true,
    fired_at timestamptz,
    looked_at timestamptz,
    -- Whether the condition held then; nothing before the first look.
    held boolean,
    -- Why it could not be told, or carried out, at the last look; nothing when it could.
    trouble text,
    UNIQUE (shop_id, id)
);
CREATE INDEX rule_by_look ON rule (looked_at);

-- What a rule says. Saving is a new version; none is ever changed.
CREATE TABLE rule_version (
    rule_id uuid NOT NULL,
    shop_id uuid NOT NULL,
    version integer NOT NULL CHECK (version > 0),
    name text NOT NULL CHECK (name <> ''),
    why text NOT NULL DEFAULT '',
    condition text NOT NULL CHECK (condition <> ''),
    actions jsonb NOT NULL CHECK (jsonb_typeof(actions) = 'array'),
    rearm_min integer NOT NULL CHECK (rearm_min BETWEEN 5 AND 10080),
    state text NOT NULL CHECK (state IN ('off', 'tried', 'on')),
    -- Nobody for the rules that ship.
    by uuid REFERENCES person (id),
    at timestamptz NOT NULL,
    -- Why it was changed, in the words of whoever did.
    reason text NOT NULL DEFAULT '',
    CONSTRAINT rule_version_key PRIMARY KEY (rule_id, version),
    FOREIGN KEY (shop_id, rule_id) REFERENCES rule (shop_id, id)
);
CREATE TRIGGER rule_version_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON rule_version
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Each time a rule fired: with which values, and what came of its actions. One that is only
-- tried fires too, and does nothing.
CREATE TABLE rule_firing (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    rule_id uuid NOT NULL,
    version integer NOT NULL,
    at timestamptz NOT NULL,
    live boolean NOT NULL,
    vals jsonb NOT NULL CHECK (jsonb_typeof(vals) = 'object'),
    outcomes jsonb NOT NULL CHECK (jsonb_typeof(outcomes) = 'array'),
    FOREIGN KEY (shop_id, rule_id) REFERENCES rule (shop_id, id),
    FOREIGN KEY (rule_id, version) REFERENCES rule_version (rule_id, version)
);
CREATE INDEX rule_firing_by_shop ON rule_firing (shop_id, at);
CREATE INDEX rule_firing_by_rule ON rule_firing (rule_id, at);
CREATE TRIGGER rule_firing_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON rule_firing
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Whatever the service does, a rule does not fire twice within its time.
CREATE FUNCTION rule_firing_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    rearm integer;
BEGIN
    PERFORM 1 FROM rule WHERE id = NEW.rule_id FOR NO KEY UPDATE;
    SELECT rearm_min INTO rearm FROM rule_version
        WHERE rule_id = NEW.rule_id AND version = NEW.version;
    IF EXISTS (SELECT FROM rule_firing WHERE rule_id = NEW.rule_id
               AND at > NEW.at - make_interval(mins => rearm)) THEN
        RAISE EXCEPTION 'a rule fires once within its time' USING
            ERRCODE = 'check_violation', CONSTRAINT = 'rule_firing_once';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER rule_firing_guard BEFORE INSERT ON rule_firing
    FOR EACH ROW EXECUTE FUNCTION rule_firing_guard();

-- Who was called out from being on call, by which firing, until their duty ends.
CREATE TABLE call_out (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    person_id uuid NOT NULL REFERENCES person (id),
    firing_id uuid REFERENCES rule_firing (id) DEFERRABLE,
    at timestamptz NOT NULL,
    until timestamptz NOT NULL CHECK (until > at)
);
CREATE INDEX call_out_by_shop ON call_out (shop_id, until);
CREATE TRIGGER call_out_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON call_out
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Who may approve below an amount for a while, though they do not manage. The gate asks for the
-- same as ever; this only says who may answer it.
CREATE TABLE approval_delegate (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    person_id uuid NOT NULL REFERENCES person (id),
    firing_id uuid REFERENCES rule_firing (id) DEFERRABLE,
    up_to_cents bigint NOT NULL CHECK (up_to_cents > 0),
    at timestamptz NOT NULL,
    until timestamptz NOT NULL CHECK (until > at)
);
CREATE INDEX approval_delegate_by_person ON approval_delegate (person_id, until);
CREATE TRIGGER approval_delegate_append_only
    BEFORE UPDATE OR DELETE OR TRUNCATE ON approval_delegate
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER approval_delegate_no_guest BEFORE INSERT ON approval_delegate
    FOR EACH ROW EXECUTE FUNCTION guest_never('person_id');

-- Capacity -------------------------------------------------------------------------------

-- How long each class may wait, minutes, and how long the way to a call usually is.
CREATE TABLE capacity_setting (
    shop_id uuid PRIMARY KEY REFERENCES shop (id),
    tolerable_min jsonb NOT NULL CHECK (jsonb_typeof(tolerable_min) = 'object'),
    travel_min integer NOT NULL CHECK (travel_min BETWEEN 1 AND 240),
    changed_by uuid REFERENCES person (id),
    changed_at timestamptz NOT NULL
);

-- Outdoors by day, as somebody entered it; what is not entered is guessed from the season.
CREATE TABLE outdoor_day (
    shop_id uuid NOT NULL REFERENCES shop (id),
    day date NOT NULL,
    outdoor_f integer NOT NULL CONSTRAINT outdoor_day_f CHECK (outdoor_f BETWEEN -80 AND 140),
    by uuid REFERENCES person (id),
    at timestamptz NOT NULL,
    PRIMARY KEY (shop_id, day)
);
