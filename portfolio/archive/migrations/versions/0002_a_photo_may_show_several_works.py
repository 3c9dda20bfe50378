"""a photo may show several works.

Revision: 0002, after 0001.
"""

import sqlalchemy as sa
from alembic import op

revision = '0002'
down_revision = '0001'
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Bring the schema forward."""
    with op.batch_alter_table('photo', schema=None, table_kwargs={'sqlite_autoincrement': True}) as batch_op:
        batch_op.add_column(sa.Column('part', sa.Integer(), server_default='0', nullable=False))
        batch_op.drop_constraint(batch_op.f('uq_photo_sha256'), type_='unique')
        batch_op.create_unique_constraint(batch_op.f('uq_photo_sha256_part'), ['sha256', 'part'])
