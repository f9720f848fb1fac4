-- A second factor: the secret shared with the person's phone (base32, RFC 6238) and since when. totp_step: the last counted
-- half minute whose code was taken, so that a code is good once.
ALTER TABLE account ADD COLUMN totp_secret TEXT;
ALTER TABLE account ADD COLUMN totp_since BIGINT;
ALTER TABLE account ADD COLUMN totp_step BIGINT NOT NULL DEFAULT 0 CHECK (totp_step >= 0);

-- The browser as it names itself, in short; and a sign-in whose password fitted and whose code is still to come.
ALTER TABLE session ADD COLUMN browser TEXT NOT NULL DEFAULT '';
ALTER TABLE session ADD COLUMN awaits_code BOOLEAN NOT NULL DEFAULT FALSE;

-- Codes that stand in for the phone when it is lost, each good once; only their SHA-256 is kept (120 random bits).
CREATE TABLE recovery_code (
    code_hash TEXT NOT NULL PRIMARY KEY,
    account_id BIGINT NOT NULL REFERENCES account (id),
    made_at BIGINT NOT NULL,
    used_at BIGINT
);
-- the codes of an account
CREATE INDEX recovery_code_by_account ON recovery_code (account_id);

-- Links with which a person chooses a password: a new account's first, or another one; good once.
CREATE TABLE password_link (
    token_hash TEXT NOT NULL PRIMARY KEY,
    account_id BIGINT NOT NULL REFERENCES account (id),
    made_at BIGINT NOT NULL,
    ends_at BIGINT NOT NULL,
    used_at BIGINT
);
-- the links of an account
CREATE INDEX password_link_by_account ON password_link (account_id);
