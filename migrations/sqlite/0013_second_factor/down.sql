DROP TABLE password_link;
DROP TABLE recovery_code;
DELETE FROM session WHERE awaits_code <> 0;
ALTER TABLE session DROP COLUMN awaits_code;
ALTER TABLE session DROP COLUMN browser;
ALTER TABLE account DROP COLUMN totp_step;
ALTER TABLE account DROP COLUMN totp_since;
ALTER TABLE account DROP COLUMN totp_secret;
