-- Readings, observations, condemn requests, blind reads, countersignatures, approvals.
--
-- The guards below repeat the rules of the condemn gate that must hold whatever the service
-- does and whatever arrives at the same time. Lock order, everywhere, triggers included: job,
-- condemn_request (by id where several), thread, record_head, live_head. Whoever adds evidence
-- holds the job row; whoever reads, signs or approves holds the job row and the request row.

-- Refuses by the name of a rule, which the store translates into a sentence.
CREATE FUNCTION gate_refuse(rule text, says text) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%', says USING ERRCODE = 'check_violation', CONSTRAINT = rule;
END $$;

-- Evidence -------------------------------------------------------------------------------

CREATE TABLE reading (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    label text NOT NULL CHECK (label ~ '^r[1-9][0-9]*$'),
    -- The engine's reading without its id, which is the label.
    body jsonb NOT NULL CHECK (jsonb_typeof(body) = 'object'),
    taken_by uuid NOT NULL REFERENCES person (id),
    taken_at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    CONSTRAINT reading_label_key UNIQUE (job_id, label),
    CONSTRAINT reading_of_job UNIQUE (job_id, id)
);
CREATE INDEX reading_by_taker ON reading (job_id, taken_by);
CREATE TRIGGER reading_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON reading
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- A reading that is no longer believed: it stays, and counts no more.
CREATE TABLE reading_strike (
    reading_id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    reason text NOT NULL CHECK (length(btrim(reason)) >= 5),
    FOREIGN KEY (job_id, reading_id) REFERENCES reading (job_id, id),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id)
);
CREATE INDEX reading_strike_by_job ON reading_strike (job_id);
CREATE TRIGGER reading_strike_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON reading_strike
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE observation (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    label text NOT NULL CHECK (label ~ '^o[1-9][0-9]*$'),
    sign text NOT NULL CHECK (sign <> ''),
    present boolean NOT NULL,
    by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    CONSTRAINT observation_label_key UNIQUE (job_id, label)
);
CREATE TRIGGER observation_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON observation
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Every change of evidence counts the job's revision up, which locks the job's row until the
-- transaction ends and makes every judgement made before it stale.
CREATE FUNCTION evidence_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE job SET evidence_revision = evidence_revision + 1 WHERE id = NEW.job_id;
    RETURN NEW;
END $$;
CREATE TRIGGER reading_revision BEFORE INSERT ON reading
    FOR EACH ROW EXECUTE FUNCTION evidence_changed();
CREATE TRIGGER reading_strike_revision BEFORE INSERT ON reading_strike
    FOR EACH ROW EXECUTE FUNCTION evidence_changed();
CREATE TRIGGER observation_revision BEFORE INSERT ON observation
    FOR EACH ROW EXECUTE FUNCTION evidence_changed();

-- Condemn requests -----------------------------------------------------------------------

CREATE TABLE condemn_request (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    requester uuid NOT NULL REFERENCES person (id),
    claim jsonb NOT NULL CHECK (claim ->> 'component' <> ''),
    component text NOT NULL GENERATED ALWAYS AS (claim ->> 'component') STORED,
    -- What the claimed component asks of a reader, as its circuit said when it was claimed.
    qualification text,
    state text NOT NULL CHECK (state IN
        ('draft', 'held', 'ready', 'reading', 'revealed', 'countersigned', 'sent_back',
         'awaiting_approval', 'approved', 'declined', 'withdrawn', 'overturned')),
    estimated_cost_cents bigint NOT NULL CHECK (estimated_cost_cents >= 0),
    note text NOT NULL DEFAULT '',
    circuit_name text NOT NULL,
    circuit_text text NOT NULL,
    -- The evidence as last judged.
    digest text NOT NULL CHECK (digest ~ '^[0-9a-f]{64}$'),
    verdict jsonb NOT NULL,
    isolated boolean NOT NULL
        GENERATED ALWAYS AS (coalesce(verdict ->> 'outcome' = 'isolated', false)) STORED,
    judged_revision bigint NOT NULL,
    judged_at timestamptz NOT NULL,
    disagreement boolean NOT NULL DEFAULT false,
    reader uuid REFERENCES person (id),
    override_by uuid REFERENCES person (id),
    override_at timestamptz,
    override_reason text,
    override_digest text,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    changed_at timestamptz NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    CONSTRAINT condemn_request_digest CHECK (verdict ->> 'evidence_digest' = digest),
    CONSTRAINT condemn_request_reader CHECK
        (state NOT IN ('reading', 'revealed') OR reader IS NOT NULL),
    CONSTRAINT condemn_request_override CHECK
        ((override_by IS NULL) = (override_digest IS NULL)
         AND (override_by IS NULL) = (override_at IS NULL)
         AND (override_by IS NULL) = (override_reason IS NULL)
         AND (override_reason IS NULL OR length(btrim(override_reason)) >= 20)
         AND (override_by IS NULL OR override_by <> requester))
);
-- Drafts are not counted: that somebody else has one is theirs to tell.
CREATE UNIQUE INDEX condemn_request_open_key ON condemn_request (job_id, component)
    WHERE state NOT IN ('draft', 'approved', 'declined', 'withdrawn', 'overturned');
CREATE INDEX condemn_request_by_job ON condemn_request (job_id, created_at);
CREATE INDEX condemn_request_by_state ON condemn_request (shop_id, state, changed_at);
CREATE INDEX condemn_request_by_reader ON condemn_request (reader) WHERE reader IS NOT NULL;

-- Who was asked for a second read, and when: fairness, and nobody is asked twice on the same
-- evidence.
CREATE TABLE read_asked (
    request_id uuid NOT NULL,
    shop_id uuid NOT NULL,
    person_id uuid NOT NULL REFERENCES person (id),
    digest text NOT NULL,
    at timestamptz NOT NULL,
    PRIMARY KEY (request_id, person_id, digest),
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id)
);
CREATE INDEX read_asked_by_person ON read_asked (person_id, at);

-- "I will not read this one; show me the claim."
CREATE TABLE stand_aside (
    request_id uuid NOT NULL,
    shop_id uuid NOT NULL,
    person_id uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    PRIMARY KEY (request_id, person_id),
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id)
);
CREATE TRIGGER stand_aside_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON stand_aside
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE blind_read (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    request_id uuid NOT NULL,
    reader uuid NOT NULL REFERENCES person (id),
    digest text NOT NULL,
    -- Absent when the reader cannot tell.
    component text,
    part text,
    mode text,
    sure text NOT NULL CHECK (sure IN ('sure', 'fairly_sure', 'cannot_tell')),
    note text NOT NULL DEFAULT '',
    agrees boolean NOT NULL,
    -- Whether the reader had seen the job's thread, or this claim on earlier evidence, before.
    seen_thread_before boolean NOT NULL,
    revealed_at timestamptz NOT NULL,
    at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id),
    CONSTRAINT blind_read_once UNIQUE (request_id, reader, digest),
    CONSTRAINT blind_read_says CHECK (component IS NOT NULL OR sure = 'cannot_tell')
);
CREATE TRIGGER blind_read_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON blind_read
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE countersignature (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    request_id uuid NOT NULL,
    signer uuid NOT NULL REFERENCES person (id),
    digest text NOT NULL,
    note text NOT NULL DEFAULT '',
    seconds_since_reveal bigint NOT NULL CHECK (seconds_since_reveal >= 0),
    at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id)
);
CREATE INDEX countersignature_by_request ON countersignature (request_id, digest);
CREATE TRIGGER countersignature_append_only
    BEFORE UPDATE OR DELETE OR TRUNCATE ON countersignature
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE approval (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    request_id uuid NOT NULL,
    -- Absent when the shop's policy decided.
    approver uuid REFERENCES person (id),
    digest text NOT NULL,
    decision text NOT NULL CHECK (decision IN ('approved', 'declined')),
    amount_cents bigint NOT NULL CHECK (amount_cents >= 0),
    reason text NOT NULL DEFAULT '',
    at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, request_id) REFERENCES condemn_request (shop_id, id),
    CONSTRAINT approval_once UNIQUE (request_id),
    CONSTRAINT approval_declined_by_person CHECK (decision = 'approved' OR approver IS NOT NULL)
);
CREATE TRIGGER approval_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON approval
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Guards ---------------------------------------------------------------------------------

-- Locks a request's job, then the request, and returns the request as it is under the locks.
-- Refuses with <rule_prefix>_stale when the evidence has moved on since it was judged, or is
-- not the evidence that `digest_given` names.
CREATE FUNCTION gate_lock(request_id_given uuid, digest_given text, rule_prefix text)
RETURNS condemn_request LANGUAGE plpgsql AS $$
DECLARE
    request condemn_request;
    revision bigint;
    job_id_of uuid;
BEGIN
    SELECT job_id INTO job_id_of FROM condemn_request WHERE id = request_id_given;
    SELECT evidence_revision INTO revision FROM job WHERE id = job_id_of FOR NO KEY UPDATE;
    SELECT * INTO request FROM condemn_request WHERE id = request_id_given FOR NO KEY UPDATE;
    IF request.digest <> digest_given OR request.judged_revision <> revision THEN
        PERFORM gate_refuse(rule_prefix || '_stale', 'the evidence has changed');
    END IF;
    RETURN request;
END $$;

-- Whether that person took a reading on that job, struck ones included, or struck one: either
-- way the evidence is partly theirs.
CREATE FUNCTION gate_took_reading(job_id_given uuid, person_given uuid)
RETURNS boolean LANGUAGE sql STABLE AS $$
    SELECT EXISTS (SELECT FROM reading WHERE job_id = job_id_given AND taken_by = person_given)
        OR EXISTS (SELECT FROM reading_strike WHERE job_id = job_id_given AND by = person_given)
$$;

-- Whether the evidence lets a request through: isolated, or overridden on this very evidence.
CREATE FUNCTION gate_settled(request condemn_request) RETURNS boolean LANGUAGE sql IMMUTABLE AS $$
    SELECT request.isolated OR coalesce(request.override_digest = request.digest, false)
$$;

CREATE FUNCTION blind_read_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    request condemn_request;
BEGIN
    request := gate_lock(NEW.request_id, NEW.digest, 'blind_read');
    IF request.state <> 'reading' OR request.reader IS DISTINCT FROM NEW.reader THEN
        PERFORM gate_refuse('blind_read_not_reader', 'only the reader who took it reads it');
    END IF;
    IF NEW.reader = request.requester OR gate_took_reading(request.job_id, NEW.reader)
        OR EXISTS (SELECT FROM stand_aside
                   WHERE request_id = NEW.request_id AND person_id = NEW.reader) THEN
        PERFORM gate_refuse('blind_read_not_independent', 'the reader is not independent');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER blind_read_guard BEFORE INSERT ON blind_read
    FOR EACH ROW EXECUTE FUNCTION blind_read_guard();

CREATE FUNCTION countersignature_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    request condemn_request;
BEGIN
    request := gate_lock(NEW.request_id, NEW.digest, 'countersignature');
    IF NEW.signer = request.requester OR gate_took_reading(request.job_id, NEW.signer) THEN
        PERFORM gate_refuse('countersignature_not_independent', 'the signer is not independent');
    END IF;
    IF NOT EXISTS (SELECT FROM blind_read WHERE request_id = NEW.request_id
                   AND reader = NEW.signer AND digest = NEW.digest) THEN
        PERFORM gate_refuse('countersignature_not_read', 'the signer has not read it blind');
    END IF;
    IF request.state <> 'revealed' OR request.reader IS DISTINCT FROM NEW.signer THEN
        PERFORM gate_refuse('countersignature_state', 'it is not this signer''s to sign now');
    END IF;
    IF NOT gate_settled(request) THEN
        PERFORM gate_refuse('countersignature_not_isolated', 'neither isolated nor overridden');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER countersignature_guard BEFORE INSERT ON countersignature
    FOR EACH ROW EXECUTE FUNCTION countersignature_guard();

CREATE FUNCTION approval_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    request condemn_request;
    limit_cents bigint;
BEGIN
    request := gate_lock(NEW.request_id, NEW.digest, 'approval');
    IF NOT (request.state = 'awaiting_approval' AND NEW.approver IS NOT NULL
            OR request.state = 'countersigned' AND NEW.approver IS NULL) THEN
        PERFORM gate_refuse('approval_state', 'it does not wait for this approval');
    END IF;
    IF NEW.decision = 'declined' THEN
        RETURN NEW;
    END IF;
    IF NOT EXISTS (SELECT FROM countersignature
                   WHERE request_id = NEW.request_id AND digest = NEW.digest) THEN
        PERFORM gate_refuse('approval_not_countersigned', 'nobody has countersigned it');
    END IF;
    IF NOT gate_settled(request) THEN
        PERFORM gate_refuse('approval_not_isolated', 'neither isolated nor overridden');
    END IF;
    SELECT approval_limit_cents INTO limit_cents FROM shop WHERE id = request.shop_id;
    IF greatest(NEW.amount_cents, request.estimated_cost_cents) >= limit_cents THEN
        IF NEW.approver IS NULL THEN
            PERFORM gate_refuse('approval_by_policy', 'from the limit on a person approves');
        END IF;
        IF NEW.approver = request.requester
            OR gate_took_reading(request.job_id, NEW.approver)
            OR EXISTS (SELECT FROM blind_read
                       WHERE request_id = NEW.request_id AND reader = NEW.approver)
            OR EXISTS (SELECT FROM countersignature
                       WHERE request_id = NEW.request_id AND signer = NEW.approver) THEN
            PERFORM gate_refuse('approval_not_independent', 'the approver is not independent');
        END IF;
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER approval_guard BEFORE INSERT ON approval
    FOR EACH ROW EXECUTE FUNCTION approval_guard();

-- The request's own row: it begins as a draft, keeps who claimed what, stays as it ended, and
-- reaches the states that mean something only with what they mean.
CREATE FUNCTION condemn_request_guard() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    revision bigint;
BEGIN
    IF TG_OP = 'INSERT' THEN
        IF NEW.state <> 'draft' OR NEW.override_by IS NOT NULL THEN
            PERFORM gate_refuse('condemn_request_begins', 'a request begins as a draft');
        END IF;
        RETURN NEW;
    END IF;
    IF OLD.state IN ('approved', 'declined', 'withdrawn', 'overturned') THEN
        PERFORM gate_refuse('condemn_request_ended', 'an ended request is not changed');
    END IF;
    IF NEW.id <> OLD.id OR NEW.shop_id <> OLD.shop_id OR NEW.job_id <> OLD.job_id
        OR NEW.requester <> OLD.requester OR NEW.claim <> OLD.claim
        OR NEW.circuit_text <> OLD.circuit_text
        OR NEW.estimated_cost_cents <> OLD.estimated_cost_cents THEN
        PERFORM gate_refuse('condemn_request_fixed', 'what is claimed by whom is not changed');
    END IF;
    IF NEW.state <> OLD.state
        AND NEW.state IN ('countersigned', 'awaiting_approval', 'approved') THEN
        SELECT evidence_revision INTO revision FROM job WHERE id = NEW.job_id;
        IF NEW.judged_revision <> revision
            OR NOT EXISTS (SELECT FROM countersignature
                           WHERE request_id = NEW.id AND digest = NEW.digest) THEN
            PERFORM gate_refuse('condemn_request_unsigned', 'nobody has countersigned it');
        END IF;
    END IF;
    IF NEW.state IN ('approved', 'declined')
        AND NOT EXISTS (SELECT FROM approval WHERE request_id = NEW.id
                        AND digest = NEW.digest AND decision = NEW.state) THEN
        PERFORM gate_refuse('condemn_request_undecided', 'nobody has decided it');
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER condemn_request_guard BEFORE INSERT OR UPDATE ON condemn_request
    FOR EACH ROW EXECUTE FUNCTION condemn_request_guard();
CREATE FUNCTION condemn_request_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM gate_refuse('condemn_request_kept', 'condemn requests are never removed');
    RETURN NULL;
END $$;
CREATE TRIGGER condemn_request_kept BEFORE DELETE OR TRUNCATE ON condemn_request
    FOR EACH STATEMENT EXECUTE FUNCTION condemn_request_kept();
