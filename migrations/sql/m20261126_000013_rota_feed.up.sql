-- Somebody's duties as a calendar that their telephone reads by a secret link ------------------

-- One link per person: making a new one ends the old one. Only its hash is kept.
CREATE TABLE rota_feed (
    person_id uuid PRIMARY KEY REFERENCES person (id),
    shop_id uuid NOT NULL REFERENCES shop (id),
    token_hash text NOT NULL CONSTRAINT rota_feed_token UNIQUE,
    made_at timestamptz NOT NULL
);
CREATE TRIGGER rota_feed_no_guest BEFORE INSERT ON rota_feed
    FOR EACH ROW EXECUTE FUNCTION guest_never('person_id');
