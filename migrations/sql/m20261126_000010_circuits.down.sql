ALTER TABLE reading DROP COLUMN meter_id, DROP COLUMN meter_due_on;
DROP TABLE meter;
CREATE OR REPLACE FUNCTION evidence_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE job SET evidence_revision = evidence_revision + 1 WHERE id = NEW.job_id;
    RETURN NEW;
END $$;
ALTER TABLE job DROP COLUMN circuit, DROP COLUMN circuit_version;
ALTER TABLE unit DROP COLUMN circuit_version;
DROP TABLE circuit_withdrawn, circuit_version;
