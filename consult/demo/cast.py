"""The invented people of the demo salon.

Phone numbers come from the range that Ofcom keeps free for drama (0117 496 0000-0999),
e-mail addresses end in the reserved name example.com (RFC 2606).
"""

import datetime as dt
from dataclasses import dataclass, field

SALON = {
    "name": "Saltgrass Rooms",
    "time_zone": "Europe/London",
    "currency": "GBP",
    "phone": "+441174960100",
    "address": "4 Ropewalk Steps, Merrow Quay",
    "opens_at": dt.time(9, 0),
    "closes_at": dt.time(19, 0),
}

PASSWORD = "saltgrass-demo"
# For a device that the owner enrols; none is enrolled to begin with.
PINS = {"imke": "302958", "tomasz": "418527", "brigid": "750264"}


@dataclass(frozen=True)
class Member:
    """Someone who works in the demo salon."""

    username: str
    display_name: str
    role: str
    has_column: bool
    column_order: int = 0


OWNER = Member("brigid", "Brigid Fallon", "owner", True, 3)
TEAM = (
    Member("imke", "Imke Dahl", "receptionist", False),
    Member("tomasz", "Tomasz Wrona", "stylist", True, 1),
    Member("oluchi", "Oluchi Eze", "stylist", True, 2),
)


@dataclass(frozen=True)
class Guest:
    """A client of the demo salon and the story that the filling tells of them.

    `lifted`, `undertone`, `white` and `porosity` describe the lengths as a stylist reads
    them; `keeps` is the warmth they like to keep, in percent; `weeks` the interval between
    their tones, 0 for no colour; `story` a patch-test or alert ending;
    `speaks` their language where it is not the salon's; `dark_as` the level that they wish
    their hair to be as dark as, 0 for none.
    """

    name: str
    known_as: str = ""
    born: str = "1988-04-12"
    natural: float = 5.0
    lifted: float = 8.0
    undertone: float = 0.0
    white: int = 0
    porosity: float = 0.0
    keeps: int = 45
    weeks: int = 0
    line: int = 0
    story: str = ""
    tags: tuple[str, ...] = field(default=())
    speaks: str = ""
    dark_as: int = 0

    @property
    def hair(self) -> tuple[object, ...]:
        """What a first visit turns on: of guests who have all of it alike, one is told."""
        return (
            self.natural, self.lifted, self.undertone, self.white, self.porosity, self.keeps,
            self.line, self.speaks, self.dark_as,
        )  # fmt: skip


# Toning clients with a history, then those of today and of the other stories.
REGULARS = (
    Guest("Maeve O’Sullivan-Hartigan", "Maeve", "1984-02-19", 5.5, 8.5, 0.1, 0, 0.3, 25, 6),
    Guest("Aleksandra Wiśniewska", "Ola", "1991-07-03", 6.0, 9.0, 0.2, 0, 0.2, 15, 7),
    Guest("Ngozi Adeyemi", "", "1979-11-27", 3.0, 7.0, -0.3, 0, 0.0, 45, 8, 1),
    Guest("Ελένη Παπαδοπούλου", "Eleni", "1969-05-08", 4.0, 7.5, 0.0, 30, 0.1, 45, 6),
    Guest("Siobhán Ní Mhaonaigh", "", "1995-09-30", 6.5, 9.5, 0.3, 0, 0.5, 10, 5),
    Guest("Marguerite de la Tour-Beaumont-Castellane", "Margot", "1958-01-14", 5.0, 8.0, 0.1, 60, 0.2, 20, 6, 1, dark_as=6),
    Guest("Дарина Коваленко", "Daryna", "1993-03-22", 5.5, 8.5, 0.0, 0, 0.4, 15, 7),
    Guest("Yuki Tanabe 田辺 由紀", "Yuki", "1990-12-05", 3.0, 7.5, -0.2, 0, 0.1, 40, 8),
    Guest("نور الحداد", "Nour", "1987-08-16", 3.0, 7.0, -0.3, 0, 0.0, 45, 9, 1),
    Guest("Hannelore Brückner", "Hanne", "1962-10-01", 6.0, 9.0, 0.2, 70, 0.1, 20, 6, speaks="de"),
    Guest("Chiara Bellandi", "", "1998-06-11", 5.5, 8.5, 0.0, 0, 0.4, 15, 7),
    Guest("Ffion Prydderch", "", "1989-02-02", 3.0, 7.0, -0.3, 0, 0.0, 45, 5, 1),
    Guest("Rosalind Achterberg", "Roz", "1975-04-25", 5.5, 8.5, 0.1, 0, 0.3, 25, 7),
    Guest("דליה בן־עמי", "Dalia", "1982-07-19", 3.0, 7.5, -0.2, 0, 0.1, 40, 8),
    Guest("Thandeka Mokoena", "", "1994-05-29", 3.0, 7.5, -0.2, 0, 0.1, 40, 9),
    Guest("Linnéa Sjöstrand", "", "1997-01-23", 6.5, 9.5, 0.3, 0, 0.5, 10, 5),
)  # fmt: skip

OTHERS = (
    Guest("Peter Quillfeather", "", "1971-03-17", story="cut"),
    Guest("Đặng Thị Minh Khuê", "Khuê", "1986-09-09", 4.0, 8.0, 0.0, story="never tested"),
    Guest("Bríd Uí Cheallacháin", "", "1966-12-12", story="waiting"),
    Guest("Constance Featherstonehaugh", "Connie", "1955-08-30", white=80, story="ready"),
    Guest("Ivana Horvat", "", "1992-10-10", story="expired"),
    Guest("Gwendolyn Mbeki-Strand", "Gwen", "1983-06-06", story="reacted"),
    Guest("Soraya Kermani", "", "1999-11-02", story="void"),
    Guest("Tilly Ashgrove", "", "2012-05-05", story="under age"),
    Guest("Mirembe Nakato", "", "1996-01-31", 3.0, 7.5, -0.2, story="clear"),
    Guest("Odile Vasseur", "", "1980-02-28", 5.0, 8.5, 0.1, story="clear"),
    Guest("Katarzyna Zielonka", "Kasia", "1990-04-04", 6.0, 9.0, 0.2, story="clear"),
    Guest("Wilhelmina van der Zandschulp", "Mina", "1968-07-07", 5.5, 8.0, 0.1, 40, story="clear"),
    Guest("Esperanza Iturralde y Goicoechea", "Espe", "1978-09-15", 4.5, 7.5, story="clear"),
    Guest("José Ângelo Figueiredo", "", "1985-12-24", story="cut"),
    Guest("Anneliese Maurer", "", "1973-01-08", story="not returned"),
    Guest("Precious Oyelaran", "", "2001-03-03", 3.0, 7.0, story="late reaction"),
    Guest("Ruth Penhaligon", "", "1949-11-11", white=95, story="cut"),
    Guest("Samir Boutros", "", "1994-02-14", story="cut"),
    Guest("Lakshmi Narayanaswamy", "", "1988-08-08", 3.0, 7.5, story="clear"),
    Guest("Freya Hjaltadóttir", "", "2000-06-21", 7.0, 9.5, 0.2, story="clear"),
    Guest("Björk Ísleifsdóttir", "", "1976-05-17", 6.5, 9.0, 0.1, story="expired"),
    Guest("Nadia Petrescu", "", "1981-10-19", story="cut"),
    Guest("Winifred Oakhanger", "Win", "1960-04-01", white=60, story="clear"),
    Guest("Zsófia Várszegi", "", "1993-12-31", 5.0, 8.0, story="clear"),
)  # fmt: skip
