"""How apple cultivars stand to scab, cedar-apple rust and powdery mildew.

Scab-resistant cultivars and cedar-apple rust: tables of West Virginia University, Kearneysville (Yoder and Biggs).
Powdery mildew: the table of the extension service's apple community (apples.extension.org). Crimson Gold, Crimson
Topaz, Galarina, Querina (Florina) and Pixie Crunch: University of Missouri, Warmund 2011; Prima: Penn State Extension.
The classes are theirs: very resistant needs no control, resistant only under high pressure, susceptible where the
disease is prevalent, highly susceptible first of all. Resistance is not for ever: races that overcome it are known
(from memory).
"""

from __future__ import annotations

VERY_RESISTANT, RESISTANT, SUSCEPTIBLE, HIGHLY_SUSCEPTIBLE = CLASSES = (
    "very-resistant", "resistant", "susceptible", "highly-susceptible",
)  # fmt: skip


def _listed(**classes: str) -> dict[str, str]:
    return {_plain(name): word.replace("_", "-") for word, names in classes.items() for name in names.split(",")}


def _plain(name: str) -> str:
    """The name in lower case without spaces, apostrophes and stops: GoldRush and Gold Rush are one."""
    return "".join(letter for letter in name.lower().split("(")[0] if letter.isalnum())


# Other names of the same cultivar (from memory).
_ALSO = {"topaz": "crimsontopaz", "florina": "querina", "reddelicious": "delicious", "crispin": "mutsu",
         "crippspink": "pinklady", "coxsorangepippin": "cox", "romebeauty": "rome"}  # fmt: skip

_SCAB = _listed(
    very_resistant=(
        "Britegold,Crimson Crisp,Dayton,Enterprise,Freedom,Gold Rush,Jonafree,Liberty,Macfree,Moira,Murray,"
        "Nova Easygro,Novamac,Prima,Princess,Priscilla,Pristine,Redfree,Richelieu,Scarlet O'Hara,Sir Prize,Sundance,"
        "Trent,Williams Pride,Crimson Gold,Crimson Topaz,Galarina,Querina,Pixie Crunch"
    )
)
_RUST = _listed(
    very_resistant=(
        "Baldwin,Delblush,Delicious,Enterprise,Gala Supreme,Gravenstein Holly,Hampshire,Jerseymac,Liberty,McIntosh,"
        "Milton,Mollies Delicious,Redfree,Runkel,Sansa,Sundance,Zestar!,Macfree,Nova Easygro,Novamac"
    ),
    resistant=(
        "Arkansas Black,Barry,Britemac,Carroll,Dayton,Early McIntosh,Empire,Fortune,Golden Supreme,Granny Smith,"
        "Grimes Golden,Jonamac,Macoun,Maiden Blush,Niagara,Paulared,Priscilla,Puritan,Scotia,Spartan,Suncrisp,"
        "Starkspur Earliblaze,Viking,Winesap,Wellington,Yellow Transparent,Moira,Murray,Trent"
    ),
    susceptible=(
        "Beacon,Ben Davis,Burgundy,Cortland,Gloster,Honeycrisp,Idared,Jamba,Jonafree,Jonagold,Julyred,Monroe,Mutsu,"
        "Northern Spy,Northwestern Greening,Orin,Pink Lady,Pristine,Quinte,Raritan,Rhode Island Greening,Senshu,Spijon,"
        "Stark Bounty,Stark Splendor,Stayman,Sunrise,Wayne,Williams Pride,Yataka,Freedom"
    ),
    highly_susceptible=(
        "Ambrosia,Arlet,Braeburn,Cameo,Chinook,Crimson Crisp,Creston,Fuji,Gala,Ginger Gold,Golden Delicious,GoldRush,"
        "Jonathan,Lodi,Pinova,Prima,Princess,Rome,Scarlet O'Hara,September Wonder,Shizuka,Spigold,Summerred,"
        "Twenty Ounce,Wealthy,Winter Banana,York Imperial,Britegold,Richelieu,Sir Prize"
    ),
)
_MILDEW = _listed(
    resistant=(
        "Arkansas Black,Ambrosia,Baldwin,Dayton,Delicious,Enterprise,Fuji,Gala,Gala Supreme,Grimes Golden,Jonafree,"
        "Lodi,Lord Lambourne,Niagara,Nittany,Prima,Priscilla,Sir Prize,Spartan,Winesap,Yellow Transparent,Yataka,"
        "Zestar!,Britegold,Trent,Williams Pride"
    ),
    susceptible=(
        "Arlet,Ben Davis,Braeburn,Cameo,Chinook,Cox,Creston,Pink Lady,Empire,Golden Delicious,Golden Supreme,GoldRush,"
        "Hampshire,Honeycrisp,Jerseymac,Jonagold,Jonamac,Liberty,Macoun,McIntosh,Milton,Mutsu,Northern Spy,Orin,Pinova,"
        "Princess,Pristine,Puritan,Quinte,Redfree,Rhode Island Greening,Runkel,Sansa,Scarlet O'Hara,Senshu,Shizuka,"
        "Spigold,Spijon,Summerred,Suncrisp,Sunrise,Twenty Ounce,Wayne,Wealthy,Wellington,York Imperial,Macfree,Moira"
    ),
    highly_susceptible=(
        "Britemac,Cortland,Crimson Crisp,Ginger Gold,Granny Smith,Gravenstein Holly,Idared,Jonathan,Julyred,Monroe,"
        "Paulared,Prime Gold,Rome,Stayman,Sundance"
    ),
)
_TABLES = {"apple-scab": _SCAB, "cedar-apple-rust": _RUST, "powdery-mildew": _MILDEW}
DISEASES = tuple(_TABLES)


def resistance(cultivar: str, disease: str) -> str | None:
    """One of CLASSES; None where the table does not have the cultivar.

    For scab only the very resistant are listed, so None there means "not known to be resistant". Raises ValueError for
    a disease without a table.
    """
    if disease not in _TABLES:
        raise ValueError(f"Cultivars are rated for {', '.join(_TABLES)}, not for {disease!r}.")
    name = _plain(cultivar)
    return _TABLES[disease].get(_ALSO.get(name, name))
