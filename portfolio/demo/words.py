"""What the invented children call their works and say about them, with the spelling of their age.

Sentence frames and spelling habits are our own; that young writers spell by sound, drop weak vowels and silent
letters, and grow out of it through the grades is common knowledge of the trade, no source.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Thing:
    """How a subject is spoken of: ``a`` "a dinosaur", ``the`` "the dinosaur"; ``many``: they, not it."""

    a: str
    the: str
    titles: tuple[str, ...]
    many: bool = False


THINGS = {
    "animal": Thing(
        "an animal", "the animal", ("My dog", "It has spots", "Who is there", "Good dog", "Waiting", "Soft")
    ),
    "owl": Thing("an owl", "the owl", ("Owl", "Mr. Owl", "Awake", "The owl sees you", "Who", "Night shift")),
    "snail": Thing(
        "a snail", "the snail", ("Snail", "Slow", "My snail", "Going home", "The long way", "Carry your house")
    ),
    "dinosaur": Thing(
        "a dinosaur", "the dinosaur", ("Dinosaur", "Big one", "The last dinosaur", "Long neck", "Before people", "Roar")
    ),
    "butterfly": Thing(
        "a butterfly",
        "the butterfly",
        ("Butterfly", "My butterfly", "Two wings", "Pattern", "Light", "Same but not same"),
    ),
    "fish under water": Thing(
        "fish", "the fish", ("Fish", "Under water", "Five fish", "Deep", "The quiet part", "Bubbles"), many=True
    ),
    "house": Thing(
        "a house", "the house", ("My house", "Home", "The red door", "House in wind", "The blue house", "Nobody awake")
    ),
    "castle": Thing(
        "a castle", "the castle", ("Castle", "The big castle", "Knock first", "Before the party", "Two towers")
    ),
    "city": Thing("a city", "the city", ("City", "Where I live", "So many windows", "Lights on", "The bus goes here")),
    "car": Thing("a car", "the car", ("Car", "Fast", "My truck", "Road trip", "Are we there", "Weels")),
    "boats": Thing("boats", "the boats", ("Boat", "Boats", "To the island", "Windy", "Low tide", "Regatta"), many=True),
    "rainbow": Thing(
        "a rainbow", "the rainbow", ("Rainbow", "After rain", "All the colors", "Under it", "Six stripes")
    ),
    "tree": Thing(
        "a tree", "the tree", ("Tree", "Apple tree", "Four trees", "Fall", "The tree by the gym", "Branches")
    ),
    "flowers": Thing(
        "flowers",
        "the flowers",
        ("Flowers", "For my mom", "Garden", "Growing", "Tall ones", "The yellow one"),
        many=True,
    ),
    "landscape": Thing(
        "a landscape", "the hills", ("Hills", "Far away", "The path", "Over there", "Morning"), many=True
    ),
    "volcano": Thing("a volcano", "the volcano", ("Volcano", "Boom", "Hot", "It is waking up", "Island")),
    "space": Thing("space", "the rocket", ("Space", "To Saturn", "Rocket", "No sound", "Three planets", "Blast off")),
    "night": Thing(
        "the night", "the night", ("Night", "At night", "Stars", "Everybody sleeps", "Moon", "After bedtime")
    ),
    "robot": Thing("a robot", "the robot", ("Robot", "My robot", "Beep", "Helper", "It can dance", "Model 2")),
    "snowman": Thing("a snowman", "the snowman", ("Snowman", "Snow day", "Cold nose", "He melts", "First snow")),
    "ice cream": Thing("ice cream", "the ice cream", ("Ice cream", "Yum", "Two scoops", "It drips", "Summer")),
    "soccer": Thing("a soccer game", "the game", ("Soccer", "Goal", "Recess", "Almost", "Passing")),
    "me": Thing("me", "the picture of me", ("Me", "It is me", "Me again", "My hair is big", "Today")),
    "family": Thing("my family", "my family", ("My family", "All of us", "Sunday", "Us", "We live here")),
    "portrait": Thing("a portrait", "the face", ("Portrait", "Somebody", "Looking", "My uncle", "She is thinking")),
    "hearts": Thing("hearts", "the hearts", ("Heart", "For you", "Inside", "Beat", "One is bigger"), many=True),
    "still life": Thing("a vase", "the vase", ("On the table", "Vase", "Still", "Fruit", "Tuesday's table")),
    "abstract": Thing(
        "an abstract",
        "the shapes",
        ("Shapes", "Untitled on purpose", "Loud", "Pushing", "No. 2", "It moves"),
        many=True,
    ),
    "pinch pot": Thing("a pinch pot", "the pot", ("Pot", "Bowl for keys", "Thumbs", "It wobbles", "For cereal")),
    "coil pot": Thing("a coil pot", "the pot", ("Coil pot", "Snakes of clay", "Round and round", "Seven coils")),
    "turtle": Thing("a turtle", "the turtle", ("Turtle", "Turtle for my desk", "Slow friend")),
    "cat": Thing("a cat", "the cat", ("Cat", "Clay cat", "She has a collar")),
    "bird": Thing("a bird", "the bird", ("Bird", "Ready to fly", "Small bird")),
    "weaving": Thing("a weaving", "the weaving", ("Stripes", "Over under", "Warm", "My rug", "Blanket for a mouse")),
    "paper sculpture": Thing(
        "a paper sculpture", "the sculpture", ("Playground", "Roller coaster", "Loops", "It stands", "Ramp")
    ),
}
"""How each subject of the painter is called and spoken of."""

PATTERN = Thing("a pattern", "the pattern", ("Pattern", "Repeat", "Again and again", "Dancing", "Wrapping paper"))
"""Stencils, and whatever has no entry."""

FRAMES = (
    (
        "This is {a}.",
        "I made {a} because I like it.",
        "{The} {is} happy.",
        "I used {medium}. It was fun.",
        "I made it for my mom.",
        "I press hard so it is {color}.",
        "My favorite is {color}.",
        "It is sunny and nobody is at school.",
        "It is me and my dog but my dog is hiding.",
        "This is the {color} part and that is the sky.",
        "I like the first one I made but I like this too.",
        "It is raining. That is why it is {color}.",
        "I looked at one in a book and then I made my own color.",
        "The people are not there because they are sleeping.",
        "It was something else first but now it is {a}.",
        "I did the dots last. I counted them.",
        "My brother said it is good.",
        "I want to make it again but bigger.",
        "{The} {is} going to a birthday.",
        "The {color} is my best color so I used a lot.",
        "It is loud here.",
        "I did not know what it was and then I knew.",
    ),
    (
        "I made {a} because I saw one near my grandma's house.",
        "I made the lines go sideways so it looks like wind.",
        "I tried {medium} for the first time. It was hard to keep the {color} in the shape.",
        "There is a secret inside. You can see it if you look close.",
        "I wanted it to look far away so I made it small. The {color} is my favorite part.",
        "First I was going to make something else but then the shape looked like {a}.",
        "I mixed the {color} myself. Next time I want to make the back darker.",
        "It is the day we moved. {The} {is} looking for us.",
        "There are three {color} ones because we are three at home.",
        "The hard part was the edge. I practiced on the back first.",
        "My friend said it looks real. I think it looks like a dream.",
        "I left a white line all around so the {color} does not touch.",
        "It was a mistake and I turned it into {a}.",
        "I wanted people to feel cold when they look at it.",
        "I used big and small because that is more interesting.",
        "{The} {is} almost home.",
        "I got the idea from the window in the art room.",
        "If you turn it around it looks like a face.",
        "The {color} was not planned but I like it.",
        "I wanted to rip it up but then I fixed it.",
        "It took me two art days.",
        "You have to stand far away to see it.",
    ),
    (
        "I put {color} next to a dark color for contrast.",
        "I overlapped the shapes to show space.",
        "If I did it again I would plan the background first. It floats a little.",
        "My idea came from a walk with my uncle. I practiced it three times before this one.",
        "The pattern repeats around the edge for rhythm.",
        "{Medium} smears, so I worked from the top down.",
        "It is about being alone but not sad. I left the paper empty on purpose.",
        "I learned that {medium} looks different when you go over it twice. The {color} glows.",
        "The texture comes from pressing hard and then letting go.",
        "I kept my second sketch because the first one looked too careful.",
        "I looked at the shadow for a long time. It is not black, it is mostly {color}.",
        "The ground tilts so you feel that somebody is in a hurry.",
        "I borrowed the border from the pattern on our kitchen floor.",
        "Half of it is from memory and half of it I made up.",
        "I wanted balance, so the small {color} shape is across from the big one.",
        "My favorite part is the corner that nobody notices.",
        "I stopped when it still looked fast.",
        "It was going to be {a} in the city, but it needed to be quiet.",
        "I asked three people what they saw and each one saw something else.",
        "The color tells you the weather, so I did not draw any rain.",
        "This is the one I would save.",
        "I used only three colors so that the line can do the work.",
    ),
)
"""What is said, by stage (K-1, 2-3, 4-5). Spelled right here; :func:`as_spelled` gives the spelling of their age."""

WITH_A_FRIEND = (
    "Me and {friend} made the same one.",
    "{friend} showed me how to do the {color} part.",
    "I gave {friend} the {color} and {friend} gave me the tape.",
)

PLAIN_COLORS = {"violet": "purple", "sky": "light blue", "lime": "light green"}
"""The painter's words for some colors, as a child says them."""

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
    (r"\bbirthday\b", ("brthday", "birfday", "berthday")),
    (r"\bsomebody\b", ("sumbody", "somebudy")),
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


def title_for(subject: str, *, grade: int, seed: int) -> str:
    """What the child calls it; every sixth work has no title."""
    chance = random.Random(f"title {seed}")
    if chance.random() < 1 / 6:
        return ""
    return as_spelled(chance.choice(THINGS.get(subject, PATTERN).titles), grade=grade, chance=chance)


def reflection_for(
    subject: str, *, medium: str, color: str, grade: int, seed: int, friend: str | None = None
) -> str | None:
    """What the child says about it, or ``None``: about two in three say or write something."""
    chance = random.Random(f"words {seed}")
    if chance.random() > 2 / 3:
        return None
    frames = WITH_A_FRIEND if friend and chance.random() < 0.12 else FRAMES[min(grade // 2, 2)]
    thing = THINGS.get(subject, PATTERN)
    said = chance.choice(frames).format(
        a=thing.a,
        The=thing.the[:1].upper() + thing.the[1:],
        **{"is": "are" if thing.many else "is"},
        medium=medium,
        Medium=medium.capitalize(),
        color=PLAIN_COLORS.get(color, color),
        friend=friend or "",
    )
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
