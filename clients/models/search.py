"""The search index of the register."""

from django.db import models

from clients.models.client import Client
from salon.models import Salon


class SearchKey(models.Model):
    """One beginning under which a client is found: a word of a name, a number, an address.

    Only `clients.people.search_index` writes these. They follow from the client and hold
    nothing of their own.
    """

    salon = models.ForeignKey(Salon, on_delete=models.CASCADE, related_name="+")
    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="search_keys")
    key = models.CharField(max_length=120)

    class Meta:
        indexes = [
            # The operator class serves LIKE 'x%' on PostgreSQL; SQLite ignores it.
            models.Index(
                fields=["salon", "key"],
                name="search_key_by_start",
                opclasses=["int8_ops", "varchar_pattern_ops"],
            ),
        ]

    def __str__(self) -> str:
        return self.key


class SearchVariant(models.Model):
    """A beginning of a word with one letter left out: how a typing mistake is found."""

    salon = models.ForeignKey(Salon, on_delete=models.CASCADE, related_name="+")
    variant = models.CharField(max_length=12)
    word = models.CharField(max_length=120)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["salon", "variant", "word"], name="search_variant_once"
            ),
        ]
        indexes = [models.Index(fields=["salon", "word"], name="search_variant_by_word")]

    def __str__(self) -> str:
        return f"{self.variant} {self.word}"
