-- What a thread holds beside words: photos, asks for a reading, who is looking, search.

ALTER TABLE message DROP CONSTRAINT message_kind_check;
ALTER TABLE message ADD CONSTRAINT message_kind_check
    CHECK (kind IN ('text', 'reading_card', 'event', 'photo', 'ask'));

-- A photo's bytes, by what they are: once for each, however often it is sent. In the database
-- and not in a folder, so that every server process has the same and a backup holds them.
CREATE TABLE photo_content (
    sha256 text PRIMARY KEY CHECK (sha256 ~ '^[0-9a-f]{64}$'),
    media_type text NOT NULL CHECK (media_type = 'image/jpeg'),
    bytes bytea NOT NULL,
    made_at timestamptz NOT NULL
);
-- Compressed already: PostgreSQL need not try.
ALTER TABLE photo_content ALTER COLUMN bytes SET STORAGE EXTERNAL;
CREATE TRIGGER photo_content_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON photo_content
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- That somebody put it on a job. A message of kind 'photo' names it.
CREATE TABLE photo (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    by uuid NOT NULL REFERENCES person (id),
    whole text NOT NULL REFERENCES photo_content (sha256),
    preview text NOT NULL REFERENCES photo_content (sha256),
    width_px integer NOT NULL CHECK (width_px > 0),
    height_px integer NOT NULL CHECK (height_px > 0),
    at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id)
);
CREATE INDEX photo_by_job ON photo (job_id);
CREATE TRIGGER photo_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON photo
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Which reading answered an ask: one, and the first.
CREATE TABLE ask_answer (
    message_id uuid NOT NULL REFERENCES message (id),
    reading_id uuid NOT NULL REFERENCES reading (id),
    shop_id uuid NOT NULL REFERENCES shop (id),
    by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    CONSTRAINT ask_answer_once PRIMARY KEY (message_id)
);
CREATE TRIGGER ask_answer_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON ask_answer
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Which socket looks at which thread, and until when that is believed. Worth nothing after a
-- crash, and so not logged.
CREATE UNLOGGED TABLE looking (
    job_id uuid NOT NULL,
    socket_id uuid NOT NULL,
    shop_id uuid NOT NULL,
    person_id uuid NOT NULL,
    until timestamptz NOT NULL,
    PRIMARY KEY (job_id, socket_id)
);
CREATE INDEX looking_by_age ON looking (until);

-- The words of a message that a search looks in.
CREATE FUNCTION message_words(body jsonb) RETURNS text LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
    SELECT coalesce(body ->> 'text', '') || ' ' || coalesce(body ->> 'event', '') || ' '
        || coalesce(body -> 'ask' ->> 'why', '') || ' ' || coalesce(body ->> 'reading_label', '')
$$;
CREATE INDEX message_search ON message
    USING gin (to_tsvector('english'::regconfig, message_words(body)));
