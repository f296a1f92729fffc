-- Circuits of a shop's own, the version that each unit and each job's evidence is judged by, and
-- the shop's meters.

SET LOCAL lock_timeout = '3s';

-- Every version that a shop ever used stays: evidence was judged by it.
CREATE TABLE circuit_version (
    shop_id uuid NOT NULL REFERENCES shop (id),
    name text NOT NULL CHECK (name ~ '^[a-z0-9-]{1,64}$'),
    version integer NOT NULL CHECK (version > 0),
    title text NOT NULL,
    about text NOT NULL,
    -- The circuit file (TOML), as it was given.
    text text NOT NULL CHECK (text <> ''),
    -- What is different from the version before.
    note text NOT NULL,
    added_by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    CONSTRAINT circuit_version_key PRIMARY KEY (shop_id, name, version)
);
CREATE TRIGGER circuit_version_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON circuit_version
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- No unit can be given it any more, until a new version is added. Units that have it keep it.
CREATE TABLE circuit_withdrawn (
    shop_id uuid NOT NULL REFERENCES shop (id),
    name text NOT NULL,
    by uuid NOT NULL REFERENCES person (id),
    at timestamptz NOT NULL,
    reason text NOT NULL CHECK (length(btrim(reason)) >= 5),
    PRIMARY KEY (shop_id, name)
);

-- Null for a circuit that ships.
ALTER TABLE unit
    ADD COLUMN circuit_version integer,
    ADD CONSTRAINT unit_circuit_version FOREIGN KEY (shop_id, circuit, circuit_version)
        REFERENCES circuit_version (shop_id, name, version);

-- What a job's evidence is read against, from its first reading on: a unit that is later given
-- another circuit must not change what an old reading meant.
ALTER TABLE job
    ADD COLUMN circuit text,
    ADD COLUMN circuit_version integer,
    ADD CONSTRAINT job_circuit_version FOREIGN KEY (shop_id, circuit, circuit_version)
        REFERENCES circuit_version (shop_id, name, version);
UPDATE job SET circuit = unit.circuit FROM unit
    WHERE unit.id = job.unit_id AND job.evidence_revision > 0;

CREATE OR REPLACE FUNCTION evidence_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE job SET evidence_revision = job.evidence_revision + 1,
        circuit = coalesce(job.circuit, unit.circuit),
        circuit_version = CASE WHEN job.circuit IS NULL THEN unit.circuit_version
            ELSE job.circuit_version END
    FROM unit WHERE unit.id = job.unit_id AND job.id = NEW.job_id;
    RETURN NEW;
END $$;

-- Meters ---------------------------------------------------------------------------------

CREATE TABLE meter (
    id uuid PRIMARY KEY,
    shop_id uuid NOT NULL REFERENCES shop (id),
    label text NOT NULL CHECK (label <> ''),
    maker text NOT NULL DEFAULT '',
    model text NOT NULL DEFAULT '',
    serial text NOT NULL DEFAULT '',
    -- Whose van it is in.
    keeper uuid REFERENCES person (id),
    -- By quantity: accuracy in percent, the smallest step, the highest value before OL.
    ranges jsonb NOT NULL CHECK (jsonb_typeof(ranges) = 'array'),
    lead_ohm double precision CHECK (lead_ohm BETWEEN 0 AND 10),
    low_impedance boolean,
    calibrated_on date,
    calibration_months integer CHECK (calibration_months BETWEEN 1 AND 120),
    retired_at timestamptz,
    version integer NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL,
    UNIQUE (shop_id, id)
);
CREATE UNIQUE INDEX meter_label_key ON meter (shop_id, lower(label)) WHERE retired_at IS NULL;

-- Which meter, and until when its calibration ran on the day: a later calibration does not mend
-- an old reading. What the meter was worth then is in the reading's body.
ALTER TABLE reading
    ADD COLUMN meter_id uuid,
    ADD COLUMN meter_due_on date,
    ADD CONSTRAINT reading_meter FOREIGN KEY (shop_id, meter_id) REFERENCES meter (shop_id, id);
