-- What a job is looked for by, in one place --------------------------------------------------
--
-- The board looked through four tables and put their words together for every open job, each
-- time. Here they lie together, lower-case, with an index that finds a piece of a word. A table of
-- its own: a job's row changes with every visit, and its words hardly ever do.
SET LOCAL lock_timeout = '3s';

CREATE TABLE job_words (
    job_id uuid PRIMARY KEY REFERENCES job (id) ON DELETE CASCADE,
    words text NOT NULL
);

-- Number, complaint, customer, telephone, address, town and unit of every job.
CREATE VIEW job_words_now AS
    SELECT job.id AS job_id, lower(concat_ws(' ', job.number, job.complaint, customer.name,
        customer.phone, site.address, site.town, unit.label)) AS words
    FROM job
    JOIN unit ON unit.id = job.unit_id
    JOIN site ON site.id = unit.site_id
    JOIN customer ON customer.id = site.customer_id;

-- A new job's. What they are read from is held until the transaction ends: whoever changes it
-- meanwhile waits, and then sees this job; so no job keeps a name that was changed beside it.
CREATE FUNCTION job_words_begin() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM FROM unit
        JOIN site ON site.id = unit.site_id
        JOIN customer ON customer.id = site.customer_id
        WHERE unit.id = NEW.unit_id
        FOR SHARE;
    INSERT INTO job_words (job_id, words)
        SELECT job_id, words FROM job_words_now WHERE job_id = NEW.id;
    RETURN NULL;
END $$;

-- Those of some jobs anew. Their rows are taken first and in one order: of two who change a
-- customer and a unit of theirs at once the second waits here, and then reads what the first wrote.
CREATE FUNCTION job_words_again(ids uuid[]) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM FROM job_words WHERE job_id = ANY (ids) ORDER BY job_id FOR UPDATE;
    UPDATE job_words SET words = job_words_now.words
        FROM job_words_now
        WHERE job_words.job_id = ANY (ids) AND job_words_now.job_id = job_words.job_id
            AND job_words_now.words <> job_words.words;
END $$;

CREATE FUNCTION job_words_of_job() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM job_words_again(ARRAY[NEW.id]);
    RETURN NULL;
END $$;
CREATE FUNCTION job_words_of_unit() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM job_words_again(ARRAY(SELECT id FROM job WHERE unit_id = NEW.id));
    RETURN NULL;
END $$;
CREATE FUNCTION job_words_of_site() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM job_words_again(ARRAY(
        SELECT job.id FROM job JOIN unit ON unit.id = job.unit_id WHERE unit.site_id = NEW.id));
    RETURN NULL;
END $$;
CREATE FUNCTION job_words_of_customer() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM job_words_again(ARRAY(
        SELECT job.id FROM job JOIN unit ON unit.id = job.unit_id
            JOIN site ON site.id = unit.site_id WHERE site.customer_id = NEW.id));
    RETURN NULL;
END $$;

CREATE TRIGGER job_words_new AFTER INSERT ON job
    FOR EACH ROW EXECUTE FUNCTION job_words_begin();
CREATE TRIGGER job_words_changed AFTER UPDATE ON job FOR EACH ROW
    WHEN (OLD.number <> NEW.number OR OLD.complaint <> NEW.complaint OR OLD.unit_id <> NEW.unit_id)
    EXECUTE FUNCTION job_words_of_job();
CREATE TRIGGER unit_words_changed AFTER UPDATE ON unit FOR EACH ROW
    WHEN (OLD.label <> NEW.label OR OLD.site_id <> NEW.site_id)
    EXECUTE FUNCTION job_words_of_unit();
CREATE TRIGGER site_words_changed AFTER UPDATE ON site FOR EACH ROW
    WHEN (OLD.address <> NEW.address OR OLD.town <> NEW.town OR OLD.customer_id <> NEW.customer_id)
    EXECUTE FUNCTION job_words_of_site();
CREATE TRIGGER customer_words_changed AFTER UPDATE ON customer FOR EACH ROW
    WHEN (OLD.name <> NEW.name OR OLD.phone IS DISTINCT FROM NEW.phone)
    EXECUTE FUNCTION job_words_of_customer();

-- The triggers hold off writers until this step has ended, so none is missed.
INSERT INTO job_words (job_id, words) SELECT job_id, words FROM job_words_now;
CREATE INDEX job_words_by_piece ON job_words USING gin (words gin_trgm_ops);
ANALYZE job_words;
