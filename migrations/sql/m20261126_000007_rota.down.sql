DROP TABLE second_opening, rota_swap, leave_ask, rota_entry;
DROP FUNCTION rota_swap_guard();
DROP FUNCTION rota_entry_guard();
ALTER TABLE shop DROP CONSTRAINT shop_calendar, DROP COLUMN calendar;
