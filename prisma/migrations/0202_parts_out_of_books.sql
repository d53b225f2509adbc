-- A part that nobody keeps any more: neither offered nor ordered, while what it was used for stays.
ALTER TABLE part ADD COLUMN in_books boolean NOT NULL DEFAULT true;
