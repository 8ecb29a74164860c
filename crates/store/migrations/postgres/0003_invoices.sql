-- Invoices and the credit notes that take them back come in. Each is of the offer of an entry that was accepted;
-- its amounts are those of the workshop's own sale there, turned round on a credit note.
CREATE TABLE invoices (
    event       bigint PRIMARY KEY REFERENCES events (sequence),
    series      text COLLATE "C" NOT NULL,
    year        bigint NOT NULL,
    sequence    bigint NOT NULL,
    preceding   bigint UNIQUE REFERENCES invoices (event),
    entry       bigint NOT NULL REFERENCES entries (event),
    offer       text NOT NULL,
    partner     text COLLATE "C",
    issued      date NOT NULL,
    due         date,
    currency    text NOT NULL,
    net_minor   bigint NOT NULL,
    gross_minor bigint NOT NULL,
    number      text COLLATE "C" NOT NULL GENERATED ALWAYS AS (
        series || '-' || lpad(year::text, 4, '0')
        || '-' || lpad(sequence::text, greatest(5, length(sequence::text)), '0')
    ) STORED,
    UNIQUE (series, year, sequence)
);

CREATE INDEX invoices_by_entry ON invoices (entry);
CREATE INDEX invoices_by_partner ON invoices (partner, event) WHERE partner IS NOT NULL;

CREATE TRIGGER invoices_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON invoices
    FOR EACH STATEMENT EXECUTE FUNCTION evenfare_refuse();
