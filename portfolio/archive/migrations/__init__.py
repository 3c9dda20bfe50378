"""Alembic's scripts: one file a schema version, oldest first."""
