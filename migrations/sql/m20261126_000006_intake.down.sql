DROP INDEX assignment_by_time, assignment_by_job, job_by_window, job_open;
DROP INDEX site_by_words, customer_by_digits, customer_by_words;
ALTER TABLE site DROP COLUMN latitude, DROP COLUMN longitude;
ALTER TABLE job DROP COLUMN required, DROP COLUMN vulnerable, DROP COLUMN outdoor_f,
    DROP COLUMN work, DROP COLUMN expected_min, DROP COLUMN not_before, DROP COLUMN intake;
DROP EXTENSION IF EXISTS pg_trgm;
