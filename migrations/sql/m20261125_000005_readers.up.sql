-- Finding a reader: ladders, who was asked and what they answered; guest readers and what the
-- database keeps them to.

-- Ladders --------------------------------------------------------------------------------

-- A ladder climbs for a subject until somebody stops it. Which rungs it has is the noun's own
-- affair; here is only when each falls due and that it fires once.
CREATE TABLE ladder (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    kind text NOT NULL CHECK (kind <> ''),
    subject_kind text NOT NULL CHECK (subject_kind <> ''),
    subject_id uuid NOT NULL,
    started_at timestamptz NOT NULL,
    stopped_at timestamptz,
    stopped_why text,
    CONSTRAINT ladder_stop CHECK ((stopped_at IS NULL) = (stopped_why IS NULL))
);
CREATE UNIQUE INDEX ladder_one_standing ON ladder (kind, subject_id) WHERE stopped_at IS NULL;
CREATE INDEX ladder_by_subject ON ladder (shop_id, subject_kind, subject_id, started_at);

CREATE TABLE ladder_step (
    ladder_id uuid NOT NULL REFERENCES ladder (id),
    rung smallint NOT NULL CHECK (rung >= 0),
    action text NOT NULL CHECK (action <> ''),
    due_at timestamptz NOT NULL,
    fired_at timestamptz,
    -- Set on what had not fired when the ladder was stopped.
    skipped_at timestamptz,
    PRIMARY KEY (ladder_id, rung),
    CONSTRAINT ladder_step_settled CHECK (fired_at IS NULL OR skipped_at IS NULL)
);
CREATE INDEX ladder_step_due ON ladder_step (due_at) WHERE fired_at IS NULL AND skipped_at IS NULL;

CREATE FUNCTION ladder_step_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.fired_at IS NOT NULL OR OLD.skipped_at IS NOT NULL THEN
        PERFORM gate_refuse('ladder_step_once', 'a step fires or is skipped once');
    END IF;
    IF NEW.fired_at IS NOT NULL
        AND EXISTS (SELECT FROM ladder WHERE id = NEW.ladder_id AND stopped_at IS NOT NULL) THEN
        PERFORM gate_refuse('ladder_step_stopped', 'a stopped ladder does not fire');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER ladder_step_guard BEFORE UPDATE ON ladder_step
    FOR EACH ROW EXECUTE FUNCTION ladder_step_guard();

-- Who was asked --------------------------------------------------------------------------

-- Takes the place of read_asked, which stays for the old binary and goes a release later.
CREATE TABLE reader_ask (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    request_id uuid NOT NULL,
    person_id uuid NOT NULL REFERENCES person (id),
    digest text NOT NULL,
    -- By whom: a colleague who chose them, or the ladder where this is null.
    asked_by uuid REFERENCES person (id),
    asked_at timestamptz NOT NULL,
    answer text CHECK (answer IN ('accepted', 'declined', 'lapsed')),
    answered_at timestamptz,
    reason text NOT NULL DEFAULT '',
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id),
    CONSTRAINT reader_ask_answer CHECK ((answer IS NULL) = (answered_at IS NULL)),
    CONSTRAINT reader_ask_reason
        CHECK (answer IS DISTINCT FROM 'declined' OR length(btrim(reason)) >= 5)
);
CREATE UNIQUE INDEX reader_ask_open ON reader_ask (request_id, person_id) WHERE answer IS NULL;
CREATE INDEX reader_ask_by_person ON reader_ask (person_id, asked_at);
CREATE INDEX reader_ask_by_request ON reader_ask (request_id, asked_at);
INSERT INTO reader_ask
    (id, shop_id, request_id, person_id, digest, asked_at, answer, answered_at)
    SELECT gen_random_uuid(), shop_id, request_id, person_id, digest, at, 'lapsed', at
    FROM read_asked;

-- An ask is answered once and otherwise stays as it was.
CREATE FUNCTION reader_ask_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR OLD.answer IS NOT NULL
        OR (NEW.id, NEW.shop_id, NEW.request_id, NEW.person_id, NEW.digest, NEW.asked_at)
            <> (OLD.id, OLD.shop_id, OLD.request_id, OLD.person_id, OLD.digest, OLD.asked_at)
        OR NEW.asked_by IS DISTINCT FROM OLD.asked_by THEN
        PERFORM gate_refuse('reader_ask_answered', 'an ask is answered once');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER reader_ask_guard BEFORE UPDATE OR DELETE ON reader_ask
    FOR EACH ROW EXECUTE FUNCTION reader_ask_guard();

-- Guests ---------------------------------------------------------------------------------

-- One link: one request, one guest, one purpose. Only the SHA-256 of its token is kept.
CREATE TABLE guest_link (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    request_id uuid NOT NULL,
    job_id uuid NOT NULL,
    made_by uuid NOT NULL REFERENCES person (id),
    token_hash text NOT NULL CONSTRAINT guest_link_token UNIQUE,
    -- For the shop's own list: whom it is meant for.
    meant_for text NOT NULL DEFAULT '',
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL CHECK (expires_at > created_at),
    revoked_at timestamptz,
    revoked_by uuid REFERENCES person (id),
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id)
);
CREATE INDEX guest_link_by_request ON guest_link (request_id, created_at);

-- What a guest says of themselves, waiting for the code that was sent to their address.
CREATE TABLE guest_code (
    id uuid PRIMARY KEY,
    link_id uuid NOT NULL REFERENCES guest_link (id),
    name text NOT NULL CHECK (name <> ''),
    licence text NOT NULL CHECK (licence <> ''),
    email text NOT NULL,
    code_hash text NOT NULL,
    sent_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    attempts integer NOT NULL DEFAULT 0,
    used_at timestamptz
);
CREATE INDEX guest_code_by_link ON guest_code (link_id, sent_at);

-- A guest is a person of the shop without any role, made when their address is verified; so
-- every rule about who reads, signs and writes holds for them as it stands.
ALTER TABLE person ADD COLUMN guest_link uuid REFERENCES guest_link (id);
ALTER TABLE person ADD CONSTRAINT person_guest_roles CHECK (guest_link IS NULL OR roles = '{}');
CREATE UNIQUE INDEX person_guest_key ON person (guest_link) WHERE guest_link IS NOT NULL;
-- The same colleague may be a guest many times, here and next door.
DROP INDEX person_email_key;
CREATE UNIQUE INDEX person_email_key ON person (lower(email)) WHERE guest_link IS NULL;

CREATE FUNCTION guest_standing(link_given uuid, at_given timestamptz) RETURNS boolean
LANGUAGE sql STABLE AS $$
    SELECT EXISTS (SELECT FROM guest_link WHERE id = link_given
        AND revoked_at IS NULL AND expires_at > at_given)
$$;

CREATE FUNCTION person_guest_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF NEW.guest_link IS DISTINCT FROM OLD.guest_link OR OLD.guest_link IS NOT NULL
            AND (NEW.name <> OLD.name OR NEW.email <> OLD.email OR NEW.shop_id <> OLD.shop_id
                 OR NEW.licence IS DISTINCT FROM OLD.licence) THEN
            PERFORM gate_refuse('person_guest_fixed', 'what a guest said of themselves stays');
        END IF;
        RETURN NEW;
    END IF;
    IF NEW.guest_link IS NULL THEN
        RETURN NEW;
    END IF;
    IF NOT guest_standing(NEW.guest_link, NEW.created_at) OR NOT EXISTS
        (SELECT FROM guest_link WHERE id = NEW.guest_link AND shop_id = NEW.shop_id) THEN
        PERFORM gate_refuse('guest_link_over', 'the link has ended');
    END IF;
    -- Whoever works here signs in: a guest's address must not be a second name of theirs.
    IF EXISTS (SELECT FROM person WHERE shop_id = NEW.shop_id AND guest_link IS NULL
               AND lower(email) = lower(NEW.email)) THEN
        PERFORM gate_refuse('guest_is_staff', 'that address is of somebody who works here');
    END IF;
    IF EXISTS (SELECT FROM person JOIN guest_link ON guest_link.id = person.guest_link
               WHERE guest_link.request_id =
                   (SELECT request_id FROM guest_link WHERE id = NEW.guest_link)
               AND lower(person.email) = lower(NEW.email)) THEN
        PERFORM gate_refuse('guest_again', 'they are a guest on this request already');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER person_guest_guard BEFORE INSERT OR UPDATE ON person
    FOR EACH ROW EXECUTE FUNCTION person_guest_guard();

-- What a guest does in a request must be the request they were invited to, while the link
-- stands.
CREATE FUNCTION guest_invited(person_given uuid, request_given uuid, at_given timestamptz)
RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    link uuid;
BEGIN
    SELECT guest_link INTO link FROM person WHERE id = person_given;
    IF link IS NOT NULL AND (NOT guest_standing(link, at_given) OR NOT EXISTS
        (SELECT FROM guest_link WHERE id = link AND request_id = request_given)) THEN
        PERFORM gate_refuse('guest_bounds', 'a guest reads only what they were invited to');
    END IF;
END $$;

CREATE FUNCTION guest_reads() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM guest_invited(NEW.reader, NEW.request_id, NEW.at);
    RETURN NEW;
END $$;
CREATE TRIGGER blind_read_guest BEFORE INSERT ON blind_read
    FOR EACH ROW EXECUTE FUNCTION guest_reads();

CREATE FUNCTION guest_signs() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM guest_invited(NEW.signer, NEW.request_id, NEW.at);
    RETURN NEW;
END $$;
CREATE TRIGGER countersignature_guest BEFORE INSERT ON countersignature
    FOR EACH ROW EXECUTE FUNCTION guest_signs();

CREATE FUNCTION guest_takes() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.reader IS NOT NULL AND NEW.reader IS DISTINCT FROM OLD.reader THEN
        PERFORM guest_invited(NEW.reader, NEW.id, NEW.changed_at);
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER condemn_request_guest BEFORE UPDATE ON condemn_request
    FOR EACH ROW EXECUTE FUNCTION guest_takes();

-- Nobody writes in a thread while they read on its job, and a guest only in the one of their
-- job, once their read is in.
CREATE FUNCTION message_reader_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    link guest_link;
    job_of uuid;
BEGIN
    IF NEW.author IS NULL THEN
        RETURN NEW;
    END IF;
    SELECT job_id INTO job_of FROM thread WHERE id = NEW.thread_id;
    IF EXISTS (SELECT FROM condemn_request WHERE job_id = job_of AND state = 'reading'
               AND reader = NEW.author) THEN
        PERFORM gate_refuse('message_blind_first', 'the writer is reading blind');
    END IF;
    SELECT guest_link.* INTO link FROM person JOIN guest_link ON guest_link.id = person.guest_link
        WHERE person.id = NEW.author;
    IF link.id IS NOT NULL AND (link.job_id <> job_of OR NOT guest_standing(link.id, NEW.at)
        OR NOT EXISTS (SELECT FROM blind_read
                       WHERE request_id = link.request_id AND reader = NEW.author)) THEN
        PERFORM gate_refuse('guest_bounds', 'a guest talks where they have read');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER message_reader_guard BEFORE INSERT ON message
    FOR EACH ROW EXECUTE FUNCTION message_reader_guard();

-- What is never a guest's to do. The argument names the column that says whose doing it is.
CREATE FUNCTION guest_never() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    whose uuid;
BEGIN
    whose := to_jsonb(NEW) ->> TG_ARGV[0];
    IF EXISTS (SELECT FROM person WHERE id = whose AND guest_link IS NOT NULL) THEN
        PERFORM gate_refuse('guest_bounds', 'this is never a guest''s to do');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER reading_no_guest BEFORE INSERT ON reading
    FOR EACH ROW EXECUTE FUNCTION guest_never('taken_by');
CREATE TRIGGER reading_strike_no_guest BEFORE INSERT ON reading_strike
    FOR EACH ROW EXECUTE FUNCTION guest_never('by');
CREATE TRIGGER observation_no_guest BEFORE INSERT ON observation
    FOR EACH ROW EXECUTE FUNCTION guest_never('by');
CREATE TRIGGER approval_no_guest BEFORE INSERT ON approval
    FOR EACH ROW EXECUTE FUNCTION guest_never('approver');
CREATE TRIGGER stand_aside_no_guest BEFORE INSERT ON stand_aside
    FOR EACH ROW EXECUTE FUNCTION guest_never('person_id');
CREATE TRIGGER assignment_no_guest BEFORE INSERT ON assignment
    FOR EACH ROW EXECUTE FUNCTION guest_never('person_id');
CREATE TRIGGER condemn_request_no_guest BEFORE INSERT ON condemn_request
    FOR EACH ROW EXECUTE FUNCTION guest_never('requester');
CREATE TRIGGER condemn_request_no_guest_override BEFORE UPDATE OF override_by ON condemn_request
    FOR EACH ROW EXECUTE FUNCTION guest_never('override_by');
CREATE TRIGGER guest_link_no_guest BEFORE INSERT ON guest_link
    FOR EACH ROW EXECUTE FUNCTION guest_never('made_by');
