-- Private links of customers: each opens one order and nothing else. token_hash: SHA-256 of the token; the token itself is nowhere.
-- made_for: 'mail' = put into a message as it was sent, 'shown' = shown to the farmer once. Several may be live; they are revoked together.
CREATE TABLE customer_link (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    token_hash TEXT NOT NULL UNIQUE,
    made_at INTEGER NOT NULL,
    made_for TEXT NOT NULL CHECK (made_for IN ('mail', 'shown')),
    last_used_at INTEGER,
    revoked_at INTEGER
) STRICT;
-- the live links of an order: shown on its page, revoked together
CREATE INDEX customer_link_live ON customer_link (reservation_id) WHERE revoked_at IS NULL;

-- Browsers that opened a private link. id_hash: SHA-256 of the cookie's random id; form_secret keys that browser's one-use form keys.
CREATE TABLE link_session (
    id_hash TEXT NOT NULL PRIMARY KEY,
    link_id INTEGER NOT NULL REFERENCES customer_link (id),
    form_secret TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    last_seen_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL
) STRICT;
-- forgetting those that ended
CREATE INDEX link_session_end ON link_session (ends_at);

-- What a customer asked by private link: to cancel the order. deposit_words: what was said beforehand about the deposit. answer and
-- answered_at come together. Rows are never removed.
CREATE TABLE cancel_request (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    reservation_id INTEGER NOT NULL REFERENCES reservation (id),
    reason TEXT NOT NULL,
    deposit_words TEXT NOT NULL,
    asked_at INTEGER NOT NULL,
    answer TEXT CHECK (answer IN ('cancelled', 'stays', 'withdrawn')),
    answered_at INTEGER,
    note TEXT NOT NULL DEFAULT '',
    CHECK ((answer IS NULL) = (answered_at IS NULL))
) STRICT;
-- one open request for an order, and finding it; what waits for the farmer's answer, on Today
CREATE UNIQUE INDEX cancel_request_open ON cancel_request (reservation_id) WHERE answer IS NULL;
