-- Invoices and the credit notes that take them back come in. Each is of the offer of an entry that was accepted;
-- its amounts are those of the workshop's own sale there, turned round on a credit note.
CREATE TABLE invoices (
    event       INTEGER PRIMARY KEY REFERENCES events (sequence),
    series      TEXT NOT NULL,
    year        INTEGER NOT NULL,
    sequence    INTEGER NOT NULL,
    preceding   INTEGER UNIQUE REFERENCES invoices (event),
    entry       INTEGER NOT NULL REFERENCES entries (event),
    offer       TEXT NOT NULL,
    partner     TEXT,
    issued      TEXT NOT NULL,
    due         TEXT,
    currency    TEXT NOT NULL,
    net_minor   INTEGER NOT NULL,
    gross_minor INTEGER NOT NULL,
    number      TEXT NOT NULL AS (printf('%s-%04d-%05d', series, year, sequence)) VIRTUAL,
    UNIQUE (series, year, sequence)
) STRICT;

CREATE INDEX invoices_by_entry ON invoices (entry);
CREATE INDEX invoices_by_partner ON invoices (partner, event) WHERE partner IS NOT NULL;

CREATE TRIGGER invoices_stay BEFORE UPDATE ON invoices BEGIN SELECT raise(ABORT, 'invoices are never changed'); END;
CREATE TRIGGER invoices_remain BEFORE DELETE ON invoices BEGIN SELECT raise(ABORT, 'invoices are never removed'); END;
