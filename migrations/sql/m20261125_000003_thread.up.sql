-- Threads, messages, marks, the live feed and its tickets.

-- A job's thread. Its row lock is what numbers are taken under: `last_seq` is raised in the
-- transaction that inserts the message, so numbers have no gaps and commit in order.
CREATE TABLE thread (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    last_seq bigint NOT NULL DEFAULT 0 CHECK (last_seq >= 0),
    created_at timestamptz NOT NULL,
    CONSTRAINT thread_job_key UNIQUE (job_id),
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id)
);

CREATE TABLE message (
    thread_id uuid NOT NULL,
    seq bigint NOT NULL CHECK (seq > 0),
    id uuid NOT NULL UNIQUE,
    shop_id uuid NOT NULL,
    -- Null for what the service itself says (kind 'event').
    author uuid REFERENCES person (id),
    kind text NOT NULL CHECK (kind IN ('text', 'reading_card', 'event')),
    body jsonb NOT NULL CHECK (jsonb_typeof(body) = 'object'),
    -- Made by the writer's client: a repeat of it is the same message.
    client_key uuid,
    at timestamptz NOT NULL,
    PRIMARY KEY (thread_id, seq),
    FOREIGN KEY (shop_id, thread_id) REFERENCES thread (shop_id, id),
    CONSTRAINT message_client_key UNIQUE (thread_id, author, client_key),
    CONSTRAINT message_author CHECK ((kind = 'event') = (author IS NULL)),
    CONSTRAINT message_keyed CHECK ((author IS NULL) = (client_key IS NULL))
);
CREATE TRIGGER message_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON message
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- How far each person has read. A row also says that the person was shown the thread at all,
-- and since when: a second read asks for that.
CREATE TABLE thread_mark (
    thread_id uuid NOT NULL REFERENCES thread (id),
    person_id uuid NOT NULL REFERENCES person (id),
    opened_at timestamptz NOT NULL,
    seen_seq bigint NOT NULL DEFAULT 0 CHECK (seen_seq >= 0),
    PRIMARY KEY (thread_id, person_id)
);

-- The last number given in each shop's feed.
CREATE TABLE live_head (
    shop_id uuid PRIMARY KEY REFERENCES shop (id),
    last bigint NOT NULL DEFAULT 0
);

-- What changed, for every open screen of the shop. Pruned: a screen that was away for longer
-- than is kept fetches everything again.
CREATE TABLE live_event (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    -- Counted per shop; null only inside the transaction that announces it.
    seq bigint CHECK (seq > 0),
    topic text NOT NULL,
    ref_id uuid NOT NULL,
    body jsonb NOT NULL DEFAULT '{}' CHECK (jsonb_typeof(body) = 'object'),
    at timestamptz NOT NULL,
    CONSTRAINT live_event_seq_key UNIQUE (shop_id, seq)
);

-- The number is taken when the transaction commits, after everything else in it: the lock on
-- the shop's head is then held for the shortest time, is always the last one taken, and so
-- can be in no deadlock, wherever in its work a transaction announces something.
CREATE FUNCTION live_event_number() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    given bigint;
BEGIN
    INSERT INTO live_head AS head (shop_id, last) VALUES (NEW.shop_id, 1)
        ON CONFLICT (shop_id) DO UPDATE SET last = head.last + 1
        RETURNING head.last INTO given;
    UPDATE live_event SET seq = given WHERE id = NEW.id;
    -- Only wakes whoever listens; the table is the truth.
    PERFORM pg_notify('live', NEW.shop_id::text);
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER live_event_numbered AFTER INSERT ON live_event
    DEFERRABLE INITIALLY DEFERRED
    FOR EACH ROW EXECUTE FUNCTION live_event_number();

-- Lets a page that holds an access token open one websocket, which cannot carry the token in
-- a header. Only the SHA-256 of the ticket is kept.
CREATE TABLE live_ticket (
    digest text PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    person_id uuid NOT NULL REFERENCES person (id),
    session_id uuid NOT NULL REFERENCES session (id),
    expires_at timestamptz NOT NULL,
    used_at timestamptz
);
CREATE INDEX live_ticket_by_age ON live_ticket (expires_at);
