-- SQLite learns to refuse REPLACE here. PostgreSQL has nothing like it: ON CONFLICT DO UPDATE and MERGE ask the triggers
-- of an update, and are refused by them. The versions of both go together.

-- From here on the offers of an entry have their amounts beside their ids, such as `main:212500 swap:198000`, so that a
-- list need not open documents. Earlier entries stay as they are, and so does what their digests are taken over.
