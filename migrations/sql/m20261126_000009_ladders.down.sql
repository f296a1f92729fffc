DROP TABLE holdover;
DROP FUNCTION holdover_guard();
ALTER TABLE shop DROP COLUMN phone;
DROP TABLE ladder_told, person_quiet, ladder_setting;
ALTER TABLE ladder_step DROP COLUMN note, DROP COLUMN held_until, DROP COLUMN planned_at, DROP COLUMN spec;
ALTER TABLE ladder DROP CONSTRAINT ladder_variant, DROP COLUMN urgency, DROP COLUMN variant,
    DROP COLUMN setting_version;
