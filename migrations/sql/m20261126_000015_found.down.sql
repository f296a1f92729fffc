DROP TRIGGER condemn_request_rates_kept ON condemn_request;
DROP FUNCTION condemn_request_rates_kept;
ALTER TABLE condemn_request DROP COLUMN rates;
DROP TABLE job_found;
DROP TABLE found_circuit;
