"""The smallest valid rows of the ground floor."""

import factory

from salon.models import Role, Salon, Staff


class SalonFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Salon

    name = "Corner House"
    time_zone = "Europe/Dublin"


class StaffFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Staff
        skip_postgeneration_save = True

    salon = factory.SubFactory(SalonFactory)
    username = factory.Sequence(lambda n: f"staff{n}")
    display_name = factory.Sequence(lambda n: f"Staff {n}")
    role = Role.STYLIST
