DROP TABLE idempotency, mail, outbox, assignment, job, job_head, unit, site, customer,
    signin_attempt, session, person, record_entry, record_head, shop;
DROP FUNCTION refuse_change();
