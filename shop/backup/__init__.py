"""A shop's records in one file, and back: the same file for SQLite and PostgreSQL.

``halfmil-backup/1`` is gzip over UTF-8 lines of JSON:

1. the header, an object: ``format``, ``app`` (version), ``made_at``, ``database``,
   ``migrations`` (applied, by app) and ``tables``, a list of ``{"table", "columns",
   "rows"}`` in the order in which they follow;
2. the rows, one array a line, table after table, each as many as the header says;
3. the trailer, an object: ``rows`` (of all tables) and ``sha256`` of every byte
   before it.

Decimals, dates, times and UUIDs are text; moments are ISO 8601 in UTC; bytes are
base64. A reference to a content type or a permission, which every database numbers
for itself, is its name. Sessions, the secret key and the file mailbox stay where they are.
"""
