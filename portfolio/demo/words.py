"""What the invented children call their works and say about them, with the spelling of their age.

Sentence frames and spelling habits are our own; that young writers spell by sound, drop weak vowels and silent
letters, and grow out of it through the grades is common knowledge of the trade, no source.
"""

from __future__ import annotations

import random
import re

TITLES = (
    ("My {thing}", "{Thing}", "The big {thing}", "{Thing} and me", "Happy {thing}"),
    ("The {thing} at night", "{Thing} in the wind", "The {thing} that ran away", "My {thing}", "Looking for a {thing}"),
    ("Before the {thing} woke up", "{Thing}, early", "Where the {thing} lives", "A quiet {thing}", "{Thing} no. 2"),
)
"""Ways to name a work, by stage: K-1, 2-3, 4-5."""

FRAMES = (
    (
        "This is my {thing}.",
        "I made a {thing} because I like it.",
        "It is a {thing} and the sun is out.",
        "I used {medium}. It was fun.",
        "My {thing} is big. It is {color}.",
        "I made it for my mom.",
        "The {thing} is happy.",
        "I press hard so it is {color}.",
        "The {thing} is going to the store with the little {thing}.",
        "It is me and my dog but my dog is hiding.",
        "This is the {color} one and that is the sky.",
        "I like the first one I made but I like this too.",
        "It is raining on the {thing}. That is why it is {color}.",
        "I looked at the {thing} in the book and then I made it with my own color.",
        "The people are not there because they are sleeping.",
        "It was a house but now it is a {thing}.",
        "I did the dots last. I counted them.",
        "My brother has a {thing} with a {color} hat.",
    ),
    (
        "I made a {thing} because I saw one at my grandma's house. I used {medium} and I like the {color} part.",
        "The {thing} is going home. I made the lines go sideways so it looks like wind.",
        "I tried {medium} for the first time. It was hard to keep the {color} in the shape.",
        "My {thing} has a secret inside. You can see it if you look close.",
        "I wanted it to look far away so I made it small. The {color} is my favorite part.",
        "First I was going to make something else but then the shape looked like a {thing}.",
        "I mixed the {color} myself. Next time I want to make the back darker.",
        "It is the day we moved. The {thing} is looking for us.",
        "I used the side of the {medium} and it made the lines soft.",
        "There are three {color} ones because we are three at home.",
        "The hard part was the legs. I practiced on the back first.",
        "My friend said it looks real. I think it looks like a dream.",
        "I left a white line all around so the {color} does not touch.",
        "The {thing} is brave because it has a {color} coat.",
        "It was a mistake and I turned it into a {thing}.",
        "I wanted people to feel cold when they look at it.",
    ),
    (
        "I wanted the {thing} to stand out, so I put {color} next to a dark color for contrast.",
        "I overlapped the shapes to show space. The {thing} in front is bigger.",
        "If I did it again I would plan the background first. The {thing} floats a little.",
        "My idea came from a walk with my uncle. I practiced it three times before this one.",
        "The pattern repeats around the edge for rhythm. {Medium} smears, so I worked from the top down.",
        "It is about being alone but not sad. I left the paper empty on purpose.",
        "I learned that {medium} looks different when you go over it twice. The {color} glows.",
        "The texture comes from pressing the {medium} hard and then scratching.",
        "I kept my second sketch because the first one looked too careful.",
        "I looked at the shadow for a long time. It is not black, it is mostly {color}.",
        "The line of the ground tilts so you feel that the {thing} is in a hurry.",
        "I borrowed the border from the pattern on our kitchen floor.",
        "Half of it is from memory and half of it I made up.",
        "I wanted balance, so the small {color} shape is across from the {thing}.",
        "My favorite part is the corner that nobody notices.",
        "I stopped when it still looked fast.",
    ),
)
"""What is said, by stage. Spelled right here; :func:`as_spelled` gives them the spelling of their age."""

WITH_A_FRIEND = (
    "Me and {friend} made the same {thing}.",
    "{friend} showed me how to do the {color} part.",
    "I gave {friend} the {color} and {friend} gave me the tape.",
)

_BY_SOUND = (
    (r"\bbecause\b", ("becus", "becuz", "becos", "becaus")),
    (r"\bhappy\b", ("hapy", "happe", "hapee")),
    (r"\bmade\b", ("mad", "maed", "mayd")),
    (r"\bhouse\b", ("hows", "hous", "howse")),
    (r"\bfavorite\b", ("favrit", "faverit", "favret")),
    (r"\bwanted\b", ("wantid", "wontid", "wantd")),
    (r"\bthe\b", ("the", "the", "the", "teh")),
    (r"\bwith\b", ("wif", "with", "whith")),
    (r"\bused\b", ("yoosd", "usd", "yusd")),
    (r"\bgrandma's\b", ("gramas", "granmas", "grandmas")),
    (r"\bthere\b", ("ther", "thare")),
    (r"\blooks?\b", ("lookes", "luks", "looks")),
    (r"\bsideways\b", ("sidways", "sideways", "sidwaze")),
    (r"\blittle\b", ("litl", "littel")),
    (r"\bcolor\b", ("culer", "coler", "color")),
    (r"\bflowers?\b", ("flawr", "flowr", "flouer")),
    (r"\bdinosaur\b", ("dinosor", "dinasor", "dinosar")),
    (r"\bbutterfly\b", ("butrfly", "buterfli", "butterflie")),
    (r"\brainbow\b", ("ranbo", "rainbo", "raynbow")),
    (r"\bcastle\b", ("casul", "casel", "cassle")),
    (r"\brocket\b", ("rokit", "rocit", "roket")),
    (r"\bfish\b", ("fich", "fish", "fsh")),
    (r"\btree\b", ("tre", "chree", "tree")),
    (r"\bpurple\b", ("prpl", "purpul", "perple")),
    (r"\byellow\b", ("yelo", "yellow", "yelow")),
    (r"\borange\b", ("ornj", "oreng", "orang")),
    (r"\bgreen\b", ("gren", "grean", "green")),
    (r"\bblue\b", ("bloo", "blu", "blue")),
    (r"\bpeople\b", ("pepol", "peple", "peepl")),
    (r"\bfamily\b", ("famly", "famle", "family")),
    (r"\bfriend\b", ("frend", "freind", "frind")),
    (r"\bfirst\b", ("frst", "ferst", "first")),
    (r"\bsecret\b", ("secrit", "seecret", "sekrit")),
    (r"\bsomething\b", ("sumthing", "somthing", "sumthin")),
    (r"\bpractic", ("practis", "pracdic", "practic")),
)
_SLIPS_AT_GRADE = (0.62, 0.45, 0.30, 0.20, 0.11, 0.06)
"""Share of the words above that are spelled by sound; assumption for the demo only, no source."""


def title_for(thing: str, *, grade: int, seed: int) -> str:
    """What the child calls it; every sixth work has no title."""
    chance = random.Random(f"title {seed}")
    if chance.random() < 1 / 6:
        return ""
    return as_spelled(_fill(chance.choice(TITLES[_stage(grade)]), thing=thing), grade=grade, chance=chance)


def reflection_for(
    thing: str, *, medium: str, color: str, grade: int, seed: int, friend: str | None = None
) -> str | None:
    """What the child says about it, or ``None``: about two in three say or write something."""
    chance = random.Random(f"words {seed}")
    if chance.random() > 2 / 3:
        return None
    frames = WITH_A_FRIEND if friend and chance.random() < 0.12 else FRAMES[_stage(grade)]
    said = _fill(chance.choice(frames), thing=thing, medium=medium, color=color, friend=friend or "")
    said = as_spelled(said, grade=grade, chance=chance)
    if grade <= 1 and chance.random() < 0.5:
        said = said.rstrip(".").lower() if chance.random() < 0.5 else said.rstrip(".")
    return said


def as_spelled(text: str, *, grade: int, chance: random.Random) -> str:
    """The text as a child of this grade would write it."""
    share = _SLIPS_AT_GRADE[grade]
    for pattern, ways in _BY_SOUND:
        if chance.random() < share:
            text = re.sub(pattern, chance.choice(ways), text)
    return text


def _stage(grade: int) -> int:
    return min(grade // 2, 2)


def _fill(frame: str, *, thing: str, medium: str = "", color: str = "", friend: str = "") -> str:
    capital = thing[:1].upper() + thing[1:]
    return frame.format(
        thing=thing, Thing=capital, medium=medium, Medium=medium.capitalize(), color=color, friend=friend
    )
