from django.db import migrations, models
from django.db.models import Case, F, OuterRef, Subquery, Value, When
from django.db.models.functions import Round

from salon import triggers

TABLES = ["consult_bowlline", "consult_bowlmixed", "consult_formulaline"]


def keep_what_is_known(apps, schema_editor):
    """Give earlier bowls the names and prices of today: what was then is not on record."""
    connection = schema_editor.connection
    triggers.suspend(connection, tables=TABLES)
    shade = apps.get_model("formulas", "Shade").objects.filter(pk=OuterRef("shade"))
    price = shade.annotate(
        per_gram=Case(
            When(tube_price=0, then=Value(None)),
            default=Round(F("tube_price") / F("tube_grams"), 4),
            output_field=models.DecimalField(max_digits=10, decimal_places=4, null=True),
        )
    ).order_by()
    apps.get_model("consult", "BowlLine").objects.update(
        shade_name=Subquery(shade.order_by().values("name")[:1]),
        price_per_gram=Subquery(price.values("per_gram")[:1]),
    )
    apps.get_model("consult", "FormulaLine").objects.update(
        shade_name=Subquery(shade.order_by().values("name")[:1])
    )
    formula = apps.get_model("consult", "Formula").objects.filter(pk=OuterRef("formula"))
    apps.get_model("consult", "BowlMixed").objects.update(
        line_name=Subquery(formula.order_by().values("line__name")[:1])
    )


class Migration(migrations.Migration):

    dependencies = [
        ("consult", "0017_plain_words"),
        ("formulas", "0011_shelf_balance"),
    ]

    operations = [
        migrations.AddField("bowlline", "price_per_gram", models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
        migrations.AddField("bowlline", "shade_name", models.CharField(blank=True, max_length=60, default=""), preserve_default=False),
        migrations.AddField("bowlmixed", "developer_price_per_gram", models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
        migrations.AddField("bowlmixed", "line_name", models.CharField(blank=True, max_length=80, default=""), preserve_default=False),
        migrations.AddField("formulaline", "shade_name", models.CharField(blank=True, max_length=60, default=""), preserve_default=False),
        migrations.RunPython(keep_what_is_known, migrations.RunPython.noop),
    ]
