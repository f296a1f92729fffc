DROP INDEX message_search;
DROP FUNCTION message_words(jsonb);
DROP TABLE looking;
DROP TABLE ask_answer;
DROP TABLE photo;
DROP TABLE photo_content;
ALTER TABLE message DROP CONSTRAINT message_kind_check;
ALTER TABLE message ADD CONSTRAINT message_kind_check
    CHECK (kind IN ('text', 'reading_card', 'event')) NOT VALID;
