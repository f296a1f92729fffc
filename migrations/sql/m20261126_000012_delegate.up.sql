-- Somebody who may approve for a while was named by hand, or is no longer wanted ---------------

-- A delegation that was ended before its time. What is on the record is not changed; this is the
-- new fact about it.
CREATE TABLE approval_delegate_end (
    delegate_id uuid PRIMARY KEY REFERENCES approval_delegate (id),
    shop_id uuid NOT NULL REFERENCES shop (id),
    ended_by uuid NOT NULL REFERENCES person (id),
    ended_at timestamptz NOT NULL
);
CREATE TRIGGER approval_delegate_end_append_only
    BEFORE UPDATE OR DELETE OR TRUNCATE ON approval_delegate_end
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- Who named somebody by hand; a rule did otherwise.
CREATE TABLE approval_delegate_named (
    delegate_id uuid PRIMARY KEY REFERENCES approval_delegate (id) DEFERRABLE,
    shop_id uuid NOT NULL REFERENCES shop (id),
    named_by uuid NOT NULL REFERENCES person (id),
    why text NOT NULL CHECK (char_length(why) <= 400)
);
CREATE TRIGGER approval_delegate_named_append_only
    BEFORE UPDATE OR DELETE OR TRUNCATE ON approval_delegate_named
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- What was not ended.
CREATE VIEW approval_delegate_standing AS
    SELECT approval_delegate.* FROM approval_delegate
    WHERE NOT EXISTS (SELECT FROM approval_delegate_end AS ended
        WHERE ended.delegate_id = approval_delegate.id);
