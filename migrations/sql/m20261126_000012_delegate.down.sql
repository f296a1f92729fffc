DROP VIEW approval_delegate_standing;
DROP TABLE approval_delegate_named;
DROP TABLE approval_delegate_end;
