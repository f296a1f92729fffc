DROP TABLE plan_taking;
DROP TABLE plan_proposal;
DROP FUNCTION plan_proposal_guard();
DROP TABLE job_pin;
DROP TABLE travel_known;
ALTER TABLE shop DROP CONSTRAINT shop_place, DROP CONSTRAINT shop_roads;
ALTER TABLE shop DROP COLUMN longitude, DROP COLUMN latitude, DROP COLUMN roads;
