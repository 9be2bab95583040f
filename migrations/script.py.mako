"""${message}

Revision ${up_revision}, after ${down_revision if down_revision else "nothing"}.

(Take out what follows once it is heeded.) Think of a register in use. PostgreSQL keeps a lock until the transaction ends:

- ADD COLUMN with a constant default, or none, is quick; a default that must be computed rewrites the table.
- CREATE INDEX blocks writes: on a large table use `with op.get_context().autocommit_block():` and
  `postgresql_concurrently=True`, in a revision of its own.
- A new FOREIGN KEY or CHECK reads the whole table under a lock: add it NOT VALID, and VALIDATE it in the next revision.
- SET NOT NULL reads the whole table too: add a CHECK (… IS NOT NULL) NOT VALID, validate, then set it.
- Changing a type rewrites the table: add a new column, fill it in batches, and drop the old one a release later.
- Never drop or rename what the release now running still reads; that comes one release later.

SQLite has one writer and rebuilds a table for most changes: use `op.batch_alter_table`. Import nothing from `service`:
a revision must mean the same when the service has changed. A lock not had within five seconds ends the migration.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}
revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = ${repr(branch_labels)}
depends_on = ${repr(depends_on)}


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    ${downgrades if downgrades else "pass"}
