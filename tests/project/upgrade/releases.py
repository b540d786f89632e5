"""Which migrations were released together, in the order of the releases.

What is not in the list yet comes after it, one migration at a time: a new migration needs no
line here. A release may add one, so that its schema is tried as it was.
"""

from django.db.migrations.graph import MigrationGraph
from django.db.migrations.loader import MigrationLoader

Node = tuple[str, str]

OWN_APPS = ("salon", "formulas", "clients", "consult")
# The first release that a demo salon could fill, and the last before the diary's own guard.
FIRST_DEMO = ("consult", "0001_initial")
UNGUARDED = ("clients", "0009_card_mail_consent")
GUARDED = ("clients", "0011_no_overlap")

_RELEASED = """
salon.0001_initial formulas.0001_initial
clients.0001_initial
consult.0001_initial clients.0002_desk_records
consult.0002_place_labels
clients.0003_patch_test_visits
formulas.0002_chart_set_by_eye
clients.0004_client_indexes
clients.0005_import_pieces
consult.0003_drafts
consult.0004_bench_checks formulas.0003_check_minutes
clients.0006_photos
consult.0005_preparation_and_papers
salon.0002_tablet
clients.0007_languages consult.0006_languages salon.0003_languages
clients.0008_proposed_appointments consult.0007_held_next_visit formulas.0004_learned_strengths
clients.0009_card_mail_consent
clients.0011_no_overlap formulas.0005_starting_point salon.0005_helps_put_away
clients.0012_client_ends_reminders
salon.0006_may_import_lists formulas.0009_invented_answer clients.0018_two_people consult.0015_signed_links
salon.0010_second_factor formulas.0012_labels_and_batches clients.0022_guardian_consent consult.0019_wanted_level
salon.0016_screen_check formulas.0015_further_developers clients.0027_yearly_holidays consult.0023_index_what_grows
salon.0023_linked_accounts formulas.0015_further_developers clients.0028_reminder_tries consult.0026_runs_of_visits
salon.0024_work_runs formulas.0016_salon_of_a_movement clients.0033_possible_duplicates consult.0028_figures_beside_their_visit
"""  # noqa: E501


class SingleSteps(MigrationLoader):
    """Knows every step, and none that takes several at once in a new database."""

    def load_disk(self) -> None:
        super().load_disk()
        at_once = {node: own for node, own in self.disk_migrations.items() if own.replaces}
        for node in at_once:
            del self.disk_migrations[node]
        for own in self.disk_migrations.values():
            # `makemigrations` puts the next one after the one that replaces all before it.
            single = [
                at_once[node].replaces[-1] if node in at_once else node
                for node in own.dependencies
            ]
            setattr(own, "dependencies", single)  # noqa: B010  a class's by the stubs


def steps(graph: MigrationGraph) -> list[list[Node]]:
    """Return what each release added, oldest first; what is not released yet one by one."""
    released = [
        [(app, name) for app, name in (one.split(".") for one in line.split())]
        for line in _RELEASED.strip().splitlines()
    ]
    known = {node for step in released for leaf in step for node in graph.forwards_plan(leaf)}
    later = [
        node
        for leaf in sorted(graph.leaf_nodes())
        for node in graph.forwards_plan(leaf)
        if node[0] in OWN_APPS and node not in known
    ]
    return [*released, *([node] for node in dict.fromkeys(later))]
