-- The farm's public page: at most one row, none until somebody looked at its settings and saved. is_on: strangers may read it.
-- headline and words are the farm's own, plain text; an empty line begins a paragraph.
CREATE TABLE public_page (
    id INTEGER PRIMARY KEY NOT NULL CHECK (id = 1),
    is_on INTEGER NOT NULL DEFAULT 0 CHECK (is_on IN (0, 1)),
    headline TEXT NOT NULL DEFAULT '',
    words TEXT NOT NULL DEFAULT '',
    changed_at INTEGER NOT NULL,
    version INTEGER NOT NULL DEFAULT 1 CHECK (version > 0)
) STRICT;

-- Offerings that stand on it while they are open.
CREATE TABLE public_offering (
    offering_id INTEGER NOT NULL PRIMARY KEY REFERENCES offering (id)
) STRICT;

-- Its pictures, in order of position. alt: what is to be seen, for those who do not see it.
CREATE TABLE public_picture (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    alt TEXT NOT NULL CHECK (alt <> ''),
    position INTEGER NOT NULL,
    added_at INTEGER NOT NULL
) STRICT;

-- A picture in one width: a JPEG of the program's own making, so without anything a camera wrote into it, as base64 (tables hold text
-- and numbers only). digest: the beginning of its SHA-256 in hexadecimal, which is its address.
CREATE TABLE public_picture_size (
    picture_id INTEGER NOT NULL REFERENCES public_picture (id),
    width INTEGER NOT NULL CHECK (width > 0),
    height INTEGER NOT NULL CHECK (height > 0),
    -- a picture by its address
    digest TEXT NOT NULL UNIQUE,
    body TEXT NOT NULL,
    PRIMARY KEY (picture_id, width)
) STRICT;
