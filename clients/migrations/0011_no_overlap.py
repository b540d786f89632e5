"""PostgreSQL refuses two bookings of one chair, or of one stylist's hands.

On SQLite the same is done by triggers (`clients.diary.overlap_guard`), installed after migrations.
"""

from django.db import DatabaseError, IntegrityError, migrations, transaction

STANDS = "status NOT IN ('cancelled', 'no_show')"
BUSY = """tstzmultirange(
    tstzrange(starts_at, coalesce(processing_from, ends_at)),
    tstzrange(coalesce(processing_until, ends_at), ends_at)
)"""
ADD = {
    "appointment_chair_single": (
        "chair_id WITH =, tstzrange(starts_at, ends_at) WITH &&",
        f"chair_id IS NOT NULL AND {STANDS}",
    ),
    "appointment_stylist_single": (f"stylist_id WITH =, ({BUSY}) WITH &&", STANDS),
}
NO_EXTENSION = (
    "PostgreSQL needs its extension btree_gist, so that it can refuse double bookings, and"
    " could not create it. Let an administrator of the database run"
    ' "CREATE EXTENSION btree_gist;" in it, then run the migration again.'
    " The extension comes with PostgreSQL (on some systems in the package"
    " postgresql-contrib)."
)


OVERLAP = (
    "Two bookings in the diary overlap, so the database cannot begin to refuse double"
    " bookings: {detail} Cancel or move one of them in the release that you come from, then"
    " migrate again. This step changed nothing."
)


class GuardMissing(Exception):
    """Raised with what an administrator has to do."""


def add(apps, schema_editor):
    connection = schema_editor.connection
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_extension WHERE extname = 'btree_gist'")
        if not cursor.fetchone():
            try:
                with transaction.atomic(using=connection.alias):
                    cursor.execute("CREATE EXTENSION btree_gist")
            except DatabaseError as error:
                raise GuardMissing(NO_EXTENSION) from error
    for name, (what, where) in ADD.items():
        try:
            schema_editor.execute(
                f"ALTER TABLE clients_appointment ADD CONSTRAINT {name} EXCLUDE USING gist"
                f" ({what}) WHERE ({where}) DEFERRABLE INITIALLY DEFERRED"
            )
        except IntegrityError as error:
            raise GuardMissing(OVERLAP.format(detail=_detail(error))) from error


def _detail(error):
    return getattr(getattr(error.__cause__, "diag", None), "message_detail", None) or str(error)


def take_away(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        for name in ADD:
            schema_editor.execute(f"ALTER TABLE clients_appointment DROP CONSTRAINT {name}")


class Migration(migrations.Migration):

    dependencies = [("clients", "0010_processing_as_booked")]

    operations = [migrations.RunPython(add, take_away)]
