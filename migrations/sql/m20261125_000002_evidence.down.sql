DROP TABLE approval, countersignature, blind_read, stand_aside, read_asked, condemn_request,
    observation, reading_strike, reading CASCADE;
DROP FUNCTION IF EXISTS gate_lock(uuid, text, text);
DROP FUNCTION IF EXISTS gate_took_reading(uuid, uuid);
DROP FUNCTION condemn_request_kept, condemn_request_guard, approval_guard,
    countersignature_guard, blind_read_guard, evidence_changed, gate_refuse;
