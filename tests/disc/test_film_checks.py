"""Which films may lie together in one disc."""

from dataclasses import replace

from disc.designs import FILMS, design, layer

from jobprep.disc.film_checks import check_bases, film_places
from jobprep.model import Dot

MIXED = {**FILMS, "amber": replace(FILMS["amber"], base="polycarbonate")}


def test_films_of_one_base_are_passed_over() -> None:
    wheel = design(layer("cover"), layer("colour", ("amber", 90), ("none", 270)))
    assert list(check_bases(wheel, FILMS)) == []


def test_each_further_base_is_told_once_at_its_first_place() -> None:
    wheel = design(
        layer("cover"), layer("colour", ("green", 90), ("amber", 90), ("amber", 90), ("none", 90))
    )
    (note,) = check_bases(wheel, MIXED)
    assert (note.severity, note.place.field) == ("caution", "layer[2].sector[2].film")
    assert '"amber" is polycarbonate, but "clear" is PET' in note.message


def test_a_counterweight_counts_too() -> None:
    dot = Dot(name="weight", film="amber", diameter=5, radius=40, direction=0.0)
    wheel = replace(design(layer("cover")), dots=(dot,))
    (note,) = check_bases(wheel, MIXED)
    assert note.place.field == "dot[1].film"
    assert list(film_places(wheel)) == [("layer[1].film", "clear"), ("dot[1].film", "amber")]
