DROP TABLE live_ticket;
DROP TABLE live_event;
DROP FUNCTION live_event_number();
DROP TABLE live_head;
DROP TABLE thread_mark;
DROP TABLE message;
DROP TABLE thread;
