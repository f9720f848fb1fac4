-- A cut sheet that its customer has not sent yet; one for an order. sheet and special as in cut_sheet, as chosen even where rules
-- are broken. step: the page saved last; looked: every page saved, by commas. began_with: the version of the cut sheet it began
-- with, 0 for none. version counts every save.
CREATE TABLE sheet_draft (
    reservation_id BIGINT PRIMARY KEY NOT NULL REFERENCES reservation (id),
    sheet TEXT NOT NULL,
    special TEXT NOT NULL DEFAULT '',
    step TEXT NOT NULL DEFAULT '',
    looked TEXT NOT NULL DEFAULT '',
    began_with BIGINT NOT NULL DEFAULT 0 CHECK (began_with >= 0),
    changed_at BIGINT NOT NULL,
    version BIGINT NOT NULL DEFAULT 1
);
