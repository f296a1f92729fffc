-- What calls turned out to be, as somebody of the shop says, and what of it a request was judged by.
SET LOCAL lock_timeout = '3s';

-- Circuits that such a word speaks of, each text once: a shipped one may read otherwise in the next
-- release, and the word names its parts.
CREATE TABLE found_circuit (
    shop_id uuid NOT NULL REFERENCES shop (id),
    -- SHA-256 of the text.
    digest text NOT NULL CHECK (digest ~ '^[0-9a-f]{64}$'),
    name text NOT NULL CHECK (name <> ''),
    text text NOT NULL CHECK (text <> ''),
    PRIMARY KEY (shop_id, digest)
);
CREATE TRIGGER found_circuit_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON found_circuit
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- A later word on the same job supersedes an earlier one, which stays.
CREATE TABLE job_found (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL,
    job_id uuid NOT NULL,
    -- Counted from 1 on each job; the highest counts.
    nth integer NOT NULL CHECK (nth > 0),
    -- The circuit that the job's evidence was read against when it was said.
    circuit_digest text NOT NULL,
    was text NOT NULL CHECK (was IN ('nothing_wrong', 'fault', 'not_listed')),
    part text,
    mode text,
    -- What it was, where the circuit does not list it.
    words text,
    how text NOT NULL CHECK (how IN ('bench_confirmed', 'run_test', 'only_replaced')),
    note text NOT NULL DEFAULT '' CHECK (length(note) <= 2000),
    said_by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    FOREIGN KEY (shop_id, job_id) REFERENCES job (shop_id, id),
    FOREIGN KEY (shop_id, circuit_digest) REFERENCES found_circuit (shop_id, digest),
    CONSTRAINT job_found_nth_key UNIQUE (job_id, nth),
    CONSTRAINT job_found_says CHECK
        ((was = 'fault') = (part IS NOT NULL) AND (was = 'fault') = (mode IS NOT NULL)
         AND (was = 'not_listed') = (words IS NOT NULL)
         AND (words IS NULL OR length(btrim(words)) BETWEEN 1 AND 300)),
    -- Whoever only replaced something believed that something was wrong.
    CONSTRAINT job_found_replaced CHECK (was <> 'nothing_wrong' OR how <> 'only_replaced')
);
-- The shop's latest words, newest first.
CREATE INDEX job_found_by_shop ON job_found (shop_id, at DESC, id DESC);
CREATE TRIGGER job_found_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON job_found
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- What the shop's calls said when a request was first judged; null where they said nothing. Kept as
-- its circuit is, and as little changed: the digest that is signed covers it.
ALTER TABLE condemn_request ADD COLUMN rates jsonb;
CREATE FUNCTION condemn_request_rates_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM gate_refuse('condemn_request_fixed', 'what a request is judged by is not changed');
    RETURN NEW;
END $$;
CREATE TRIGGER condemn_request_rates_kept BEFORE UPDATE ON condemn_request FOR EACH ROW
    WHEN (OLD.rates IS DISTINCT FROM NEW.rates) EXECUTE FUNCTION condemn_request_rates_kept();
