"""a sign-in may be a station of a class.

Revision: 0003, after 0002.
"""

import sqlalchemy as sa
from alembic import op

revision = '0003'
down_revision = '0002'
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Bring the schema forward."""
    with op.batch_alter_table('sign_in', schema=None) as batch_op:
        batch_op.add_column(sa.Column('class_id', sa.Integer(), nullable=True))
