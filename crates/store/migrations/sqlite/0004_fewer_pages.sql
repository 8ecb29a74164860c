-- A list goes by the first entries of the numbers, in the order of the table itself; who issues need not write its
-- order down once more.
DROP INDEX entries_by_issue;
