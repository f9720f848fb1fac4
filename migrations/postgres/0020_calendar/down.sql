DROP TABLE message_calendar;
DROP TABLE calendar_feed;
