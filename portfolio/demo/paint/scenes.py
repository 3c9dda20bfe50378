"""Scenes: what a child of an age makes of a subject on a sheet."""

from collections.abc import Callable

from portfolio.demo.paint import scenes_animals, scenes_free, scenes_outside, scenes_people
from portfolio.demo.paint.outdoors import Made
from portfolio.demo.paint.sketch import Sketch

Maker = Callable[[Sketch], Made]
# subject: maker, share of upright sheets
MAKERS: dict[str, tuple[Maker, float]] = {
    "me": (scenes_people.me, 0.6),
    "family": (scenes_people.family, 0.1),
    "portrait": (scenes_people.portrait, 0.85),
    "house": (scenes_people.house, 0.2),
    "tree": (scenes_outside.trees, 0.3),
    "flowers": (scenes_outside.flowers, 0.35),
    "rainbow": (scenes_outside.rainbow, 0.05),
    "animal": (scenes_animals.pet, 0.1),
    "owl": (scenes_animals.owl, 0.7),
    "snail": (scenes_animals.snail, 0.1),
    "dinosaur": (scenes_animals.dinosaur, 0.05),
    "fish under water": (scenes_animals.under_water, 0.15),
    "butterfly": (scenes_animals.butterfly, 0.25),
    "castle": (scenes_people.castle, 0.35),
    "city": (scenes_people.city, 0.4),
    "car": (scenes_people.vehicle, 0.05),
    "boats": (scenes_outside.boats, 0.15),
    "space": (scenes_outside.space, 0.45),
    "night": (scenes_outside.night, 0.2),
    "robot": (scenes_people.robot, 0.75),
    "volcano": (scenes_outside.volcano, 0.15),
    "landscape": (scenes_outside.landscape, 0.08),
    "still life": (scenes_free.still_life, 0.45),
    "hearts": (scenes_free.hearts, 0.3),
    "soccer": (scenes_people.soccer, 0.05),
    "snowman": (scenes_outside.snow, 0.6),
    "ice cream": (scenes_free.ice_cream, 0.85),
    "abstract": (scenes_free.abstract, 0.3),
}
