-- Readings, observations, condemn requests, reads, signatures, approvals.
SELECT 1;
