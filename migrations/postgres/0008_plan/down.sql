ALTER TABLE farm DROP COLUMN open_custom_from;
DROP TABLE plan_move;
DROP TABLE plan_acceptance;
DROP TABLE place_lock;
DROP TABLE later_choice;
DROP TABLE share_wish;
