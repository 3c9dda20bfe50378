"""a photo may be turned and hidden before it is filed.

Revision: 0005, after 0004.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Bring the schema forward."""
    with op.batch_alter_table("photo", schema=None, table_kwargs={"sqlite_autoincrement": True}) as batch_op:
        batch_op.add_column(sa.Column("by_hand", sa.JSON(), nullable=True))
