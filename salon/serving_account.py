"""Two accounts of a PostgreSQL database: one owns and migrates it, one serves.

The one that serves reads and adds everywhere, changes and deletes rows only where rows may
change, and can neither empty nor alter a table, nor touch a trigger or its function.
"""

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder
from psycopg import sql

from salon import triggers


class AccountRefused(ValueError):
    """Raised with the reason why an account cannot be the one that serves."""


def grant(connection: BaseDatabaseWrapper, *, name: str, password: str) -> None:
    """Create the account that serves, or set its rights again after a migration."""
    if connection.vendor != "postgresql":
        raise AccountRefused("Accounts are PostgreSQL's; this database has none.")
    kept = {model._meta.db_table for model in triggers.append_only_models()}
    kept_too = {MigrationRecorder.Migration._meta.db_table}  # read only
    role = sql.Identifier(name)
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_user, current_database()")
        owner, database = cursor.fetchone()
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = %s", [name])
        found = cursor.fetchone()
        if name == owner or (found and found[0]):
            raise AccountRefused(f"{name} owns the database; the account that serves must not.")

        def run(text: str, **names: sql.Composable) -> None:
            cursor.execute(sql.SQL(text).format(role=role, **names).as_string())

        can = "LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE PASSWORD {password}"
        verb = "ALTER" if found else "CREATE"
        run(f"{verb} ROLE {{role}} {can}", password=sql.Literal(password))
        run("GRANT CONNECT ON DATABASE {database} TO {role}", database=sql.Identifier(database))
        run("REVOKE CREATE ON SCHEMA public FROM PUBLIC")
        run("GRANT USAGE ON SCHEMA public TO {role}")
        run("REVOKE ALL ON ALL TABLES IN SCHEMA public FROM {role}")
        run("GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {role}")
        for table in connection.introspection.table_names(cursor):
            rights = "SELECT" if table in kept_too else "SELECT, INSERT"
            if table not in kept | kept_too:
                rights += ", UPDATE, DELETE"
            run(f"GRANT {rights} ON {{table}} TO {{role}}", table=sql.Identifier(table))


def may_alter(connection: BaseDatabaseWrapper) -> bool:
    """Return whether the account in use could remove the guards of append-only tables."""
    if connection.vendor != "postgresql":
        return True  # whoever writes SQLite's file may do anything
    tables = [model._meta.db_table for model in triggers.append_only_models()]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT bool_or(pg_has_role(current_user, relowner, 'USAGE')) FROM pg_class"
            " WHERE relkind = 'r' AND relname = ANY(%s) AND pg_table_is_visible(oid)",
            [tables],
        )
        (may,) = cursor.fetchone()
    return bool(may)
