-- REPLACE takes away whatever row has a key of the new one, and asks no trigger that refuses to remove. So nothing is
-- written that has a key of a row that stands, whichever of its keys it is.
CREATE TRIGGER events_are_new BEFORE INSERT ON events
    WHEN EXISTS (SELECT 1 FROM events WHERE sequence = NEW.sequence)
    OR EXISTS (SELECT 1 FROM events WHERE request_id = NEW.request_id)
    BEGIN SELECT raise(ABORT, 'events are never replaced'); END;
CREATE TRIGGER entries_are_new BEFORE INSERT ON entries
    WHEN EXISTS (SELECT 1 FROM entries WHERE event = NEW.event)
    OR EXISTS (SELECT 1 FROM entries WHERE series = NEW.series AND year = NEW.year AND sequence = NEW.sequence
        AND revision = NEW.revision AND reversal = NEW.reversal)
    BEGIN SELECT raise(ABORT, 'entries are never replaced'); END;
CREATE TRIGGER entry_partners_are_new BEFORE INSERT ON entry_partners
    WHEN EXISTS (SELECT 1 FROM entry_partners WHERE event = NEW.event AND position = NEW.position)
    BEGIN SELECT raise(ABORT, 'partners of an entry are never replaced'); END;
CREATE TRIGGER invoices_are_new BEFORE INSERT ON invoices
    WHEN EXISTS (SELECT 1 FROM invoices WHERE event = NEW.event)
    OR EXISTS (SELECT 1 FROM invoices WHERE preceding = NEW.preceding)
    OR EXISTS (SELECT 1 FROM invoices WHERE series = NEW.series AND year = NEW.year AND sequence = NEW.sequence)
    BEGIN SELECT raise(ABORT, 'invoices are never replaced'); END;
CREATE TRIGGER editions_are_new BEFORE INSERT ON editions
    WHEN EXISTS (SELECT 1 FROM editions WHERE event = NEW.event)
    OR EXISTS (SELECT 1 FROM editions WHERE code = NEW.code)
    OR EXISTS (SELECT 1 FROM editions WHERE begins = NEW.begins)
    BEGIN SELECT raise(ABORT, 'editions are never replaced'); END;
CREATE TRIGGER callers_are_new BEFORE INSERT ON callers
    WHEN EXISTS (SELECT 1 FROM callers WHERE event = NEW.event)
    OR EXISTS (SELECT 1 FROM callers WHERE name = NEW.name)
    OR EXISTS (SELECT 1 FROM callers WHERE credential = NEW.credential)
    BEGIN SELECT raise(ABORT, 'callers are never replaced'); END;

