-- Who is on duty when: the rota, leave that is asked for, swaps by agreement, the second rota
-- being opened, and the shop's calendar.

-- Opening hours, whose public holidays, own days, the rest rule. An empty object is the default
-- of each; which those are says roster::calendar.
ALTER TABLE shop ADD COLUMN calendar jsonb NOT NULL DEFAULT '{}';
ALTER TABLE shop ADD CONSTRAINT shop_calendar CHECK (jsonb_typeof(calendar) = 'object');

-- One person's duty, or leave, from one moment to another. Nobody is in two places: the spans of
-- one person cannot overlap, whoever writes them at the same time. Taken out, a row stays.
CREATE TABLE rota_entry (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    person_id uuid NOT NULL REFERENCES person (id),
    kind text NOT NULL CONSTRAINT rota_entry_kind
        CHECK (kind IN ('shift', 'on_call', 'second', 'leave')),
    during tstzrange NOT NULL,
    note text NOT NULL DEFAULT '',
    made_by uuid NOT NULL REFERENCES person (id),
    made_at timestamptz NOT NULL,
    removed_at timestamptz,
    removed_by uuid REFERENCES person (id),
    removed_why text,
    UNIQUE (shop_id, id),
    CONSTRAINT rota_entry_during CHECK
        (NOT isempty(during) AND lower_inc(during) AND NOT upper_inc(during)
         AND NOT lower_inf(during) AND NOT upper_inf(during)),
    CONSTRAINT rota_entry_removed CHECK
        ((removed_at IS NULL) = (removed_by IS NULL)
         AND (removed_at IS NULL) = (removed_why IS NULL)),
    CONSTRAINT rota_entry_no_overlap
        EXCLUDE USING gist (person_id WITH =, during WITH &&) WHERE (removed_at IS NULL)
);
CREATE INDEX rota_entry_by_time ON rota_entry USING gist (shop_id, during)
    WHERE removed_at IS NULL;

-- An entry is taken out once and otherwise stays as it was.
CREATE FUNCTION rota_entry_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR OLD.removed_at IS NOT NULL
        OR (NEW.id, NEW.shop_id, NEW.person_id, NEW.kind, NEW.during, NEW.note, NEW.made_by,
            NEW.made_at)
            <> (OLD.id, OLD.shop_id, OLD.person_id, OLD.kind, OLD.during, OLD.note, OLD.made_by,
                OLD.made_at) THEN
        PERFORM gate_refuse('rota_entry_fixed', 'an entry is taken out once, and never changed');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER rota_entry_guard BEFORE UPDATE OR DELETE ON rota_entry
    FOR EACH ROW EXECUTE FUNCTION rota_entry_guard();
CREATE TRIGGER rota_entry_no_guest BEFORE INSERT ON rota_entry
    FOR EACH ROW EXECUTE FUNCTION guest_never('person_id');

-- Leave that somebody asks for. Granted, it becomes an entry.
CREATE TABLE leave_ask (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    person_id uuid NOT NULL REFERENCES person (id),
    during tstzrange NOT NULL,
    reason text NOT NULL DEFAULT '',
    asked_at timestamptz NOT NULL,
    answer text CHECK (answer IN ('granted', 'refused', 'withdrawn')),
    answered_by uuid REFERENCES person (id),
    answered_at timestamptz,
    answer_words text NOT NULL DEFAULT '',
    entry_id uuid REFERENCES rota_entry (id),
    CONSTRAINT leave_ask_during CHECK
        (NOT isempty(during) AND NOT lower_inf(during) AND NOT upper_inf(during)),
    CONSTRAINT leave_ask_answer CHECK
        ((answer IS NULL) = (answered_at IS NULL) AND (answer IS NULL) = (answered_by IS NULL)
         AND (answer IS NOT DISTINCT FROM 'granted') = (entry_id IS NOT NULL)),
    -- The same days are not asked for twice while the first ask is open.
    CONSTRAINT leave_ask_no_overlap
        EXCLUDE USING gist (person_id WITH =, during WITH &&) WHERE (answer IS NULL)
);
CREATE INDEX leave_ask_by_shop ON leave_ask (shop_id, asked_at);
CREATE TRIGGER leave_ask_no_guest BEFORE INSERT ON leave_ask
    FOR EACH ROW EXECUTE FUNCTION guest_never('person_id');

-- One of mine for one of yours, or given away: to somebody, or to whoever takes it.
CREATE TABLE rota_swap (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    offered_by uuid NOT NULL REFERENCES person (id),
    offered_entry uuid NOT NULL REFERENCES rota_entry (id),
    offered_to uuid REFERENCES person (id),
    wanted_entry uuid REFERENCES rota_entry (id),
    note text NOT NULL DEFAULT '',
    made_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL CHECK (expires_at > made_at),
    state text NOT NULL DEFAULT 'open' CHECK
        (state IN ('open', 'accepted', 'declined', 'withdrawn', 'expired', 'overtaken')),
    settled_at timestamptz,
    settled_by uuid REFERENCES person (id),
    settled_why text NOT NULL DEFAULT '',
    CONSTRAINT rota_swap_settled CHECK ((state = 'open') = (settled_at IS NULL)),
    CONSTRAINT rota_swap_wanted CHECK (wanted_entry IS NULL OR offered_to IS NOT NULL),
    CONSTRAINT rota_swap_not_self CHECK (offered_to IS NULL OR offered_to <> offered_by)
);
CREATE UNIQUE INDEX rota_swap_one_open ON rota_swap (offered_entry) WHERE state = 'open';
CREATE INDEX rota_swap_by_shop ON rota_swap (shop_id, made_at);

CREATE FUNCTION rota_swap_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR OLD.state <> 'open' THEN
        PERFORM gate_refuse('rota_swap_once', 'an offer is settled once');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER rota_swap_guard BEFORE UPDATE OR DELETE ON rota_swap
    FOR EACH ROW EXECUTE FUNCTION rota_swap_guard();

-- Since when and until when the second rota counts as on call.
CREATE TABLE second_opening (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    during tstzrange NOT NULL,
    why text NOT NULL CHECK (why <> ''),
    -- Nobody where a rule opened it.
    opened_by uuid REFERENCES person (id),
    opened_at timestamptz NOT NULL,
    closed_at timestamptz,
    closed_by uuid REFERENCES person (id),
    CONSTRAINT second_opening_during CHECK
        (NOT isempty(during) AND NOT lower_inf(during) AND NOT upper_inf(during)),
    CONSTRAINT second_opening_no_overlap
        EXCLUDE USING gist (shop_id WITH =, during WITH &&) WHERE (closed_at IS NULL)
);
