-- What a call is asked for, where a site lies, and indexes for finding a customer as one types
-- and for drawing a board of thousands.
--
-- The planned slot has been there from the first: `assignment.planned`. It is no longer always
-- the promised window, which is the job's; the constraint assignment_no_overlap stays as it is.
SET LOCAL lock_timeout = '3s';

-- Finds a piece of a name, an address or a telephone number through an index.
CREATE EXTENSION IF NOT EXISTS pg_trgm;

-- Every new column is nullable or has a constant default, so a binary from before still runs.
ALTER TABLE job
    -- What whoever goes must be qualified for.
    ADD COLUMN required text[] NOT NULL DEFAULT '{}',
    -- Somebody in the house cannot be without heat or cooling.
    ADD COLUMN vulnerable boolean NOT NULL DEFAULT false,
    -- Outdoor temperature when the call came, degrees Fahrenheit.
    ADD COLUMN outdoor_f integer,
    ADD COLUMN work text NOT NULL DEFAULT 'diagnosis',
    -- How long it is expected to take on site, minutes; the default is a diagnosis's.
    ADD COLUMN expected_min integer NOT NULL DEFAULT 90,
    -- Nobody need go before this.
    ADD COLUMN not_before timestamptz,
    -- The answers to the plain questions, the class they made, and why it was overruled.
    ADD COLUMN intake jsonb NOT NULL DEFAULT '{}';
ALTER TABLE job
    ADD CONSTRAINT job_required CHECK
        (required <@ ARRAY['sealed_system', 'three_phase', 'combustion', 'electrical']),
    ADD CONSTRAINT job_outdoor CHECK (outdoor_f BETWEEN -80 AND 140),
    ADD CONSTRAINT job_work CHECK (work IN
        ('diagnosis', 'repair', 'maintenance', 'installation', 'return_visit')),
    ADD CONSTRAINT job_expected CHECK (expected_min BETWEEN 5 AND 2880),
    ADD CONSTRAINT job_intake CHECK (jsonb_typeof(intake) = 'object');

ALTER TABLE site
    ADD COLUMN latitude double precision,
    ADD COLUMN longitude double precision;
ALTER TABLE site
    ADD CONSTRAINT site_place CHECK ((latitude IS NULL) = (longitude IS NULL)
        AND latitude BETWEEN -90 AND 90 AND longitude BETWEEN -180 AND 180);

-- Whatever is typed is looked for in these two.
CREATE INDEX customer_by_words ON customer
    USING gin ((lower(name || ' ' || coalesce(phone, ''))) gin_trgm_ops);
-- "555 0142", "555-0142" and "5550142" are one number.
CREATE INDEX customer_by_digits ON customer
    USING gin ((regexp_replace(coalesce(phone, ''), '[^0-9]', '', 'g')) gin_trgm_ops);
CREATE INDEX site_by_words ON site USING gin ((lower(address || ' ' || town)) gin_trgm_ops);

-- The board reads what is open, in its order, and who is planned when.
CREATE INDEX job_open ON job (shop_id, number) WHERE state NOT IN ('done', 'cancelled');
CREATE INDEX job_by_window ON job (shop_id, window_start) WHERE window_start IS NOT NULL;
CREATE INDEX assignment_by_job ON assignment (job_id, at);
CREATE INDEX assignment_by_time ON assignment USING gist (shop_id, planned);
