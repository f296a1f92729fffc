DROP TABLE idempotency, mail, outbox, assignment, job, job_head, unit, site, customer,
    signin_attempt, refresh_used, session, person, record_entry, record_head, shop;
DROP FUNCTION refuse_change();
