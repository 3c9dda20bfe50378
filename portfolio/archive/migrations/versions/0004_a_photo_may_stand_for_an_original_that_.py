"""a photo may stand for an original that is still on its way.

Revision: 0004, after 0003.
"""

import sqlalchemy as sa
from alembic import op

revision = '0004'
down_revision = '0003'
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Bring the schema forward."""
    with op.batch_alter_table('photo', schema=None) as batch_op:
        batch_op.add_column(sa.Column('coming', sa.String(), server_default='', nullable=False))
