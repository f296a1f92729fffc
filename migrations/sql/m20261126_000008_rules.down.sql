DROP TABLE outdoor_day;
DROP TABLE capacity_setting;
DROP TABLE approval_delegate;
DROP TABLE call_out;
DROP TABLE rule_firing;
DROP FUNCTION rule_firing_guard();
DROP TABLE rule_version;
DROP TABLE rule;
