"""The door for the browser: takes requests, gives pages and JSON. Never opens the database itself; ``flows`` does."""
