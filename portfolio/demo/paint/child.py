"""An invented child: the traits that last from kindergarten to grade 5 and make its hand recognizable."""

from dataclasses import dataclass

import numpy as np

from portfolio.demo.paint.chance import chance

HAIR = ("cap", "bob", "long", "curls", "bun", "pigtails", "spikes", "braids")
COLORS = ("red", "orange", "yellow", "lime", "green", "sky", "blue", "violet", "pink", "brown")


@dataclass(frozen=True)
class Child:
    """One child. Ages are drawing ages in years; every trait is kept for all years."""

    seed: int
    offset_years: float
    pace: float
    left_handed: bool
    pressure: float
    tremor: float
    size: float
    neat: float
    coloring: float
    detail: float
    favorites: tuple[str, ...]
    fidelity: float
    outline: str  # black, same, dark
    interests: float
    sun: str
    sun_side: int
    eyes: str
    mouth: str
    cheeks: bool
    hair: str
    hair_color: str
    skin: int
    body: str
    hands: str
    tree: str
    cloud: str
    flower: str
    grass: str
    ears: str
    border: bool

    def age(self, grade: int, month: int) -> float:
        """Drawing age at a grade (0 = K) and a month of the school year (0-9)."""
        return 5.4 + (grade + month / 12) * self.pace + self.offset_years


def child_of(seed: int) -> Child:
    """The child of a seed; the same seed always gives the same child."""
    rng = chance("child", seed)

    def one(*words: str) -> str:
        return words[int(rng.integers(len(words)))]

    return Child(
        seed=seed,
        offset_years=float(np.clip(rng.normal(0, 0.55), -1.3, 1.3)),
        pace=float(np.clip(rng.normal(1, 0.12), 0.75, 1.3)),
        left_handed=bool(rng.random() < 0.11),
        pressure=float(np.clip(rng.normal(0.76, 0.13), 0.5, 1.0)),
        tremor=float(np.exp(rng.normal(0, 0.28))),
        size=float(np.clip(np.exp(rng.normal(0, 0.22)), 0.66, 1.4)),
        neat=float(np.clip(rng.normal(0, 0.5), -1, 1)),
        coloring=float(np.clip(rng.normal(0.75, 0.18), 0.3, 1)),
        detail=float(np.clip(rng.normal(0, 0.4), -1, 1)),
        favorites=tuple(str(name) for name in rng.permutation(np.array(COLORS))[:4]),
        fidelity=float(rng.beta(2, 3)),
        outline=str(rng.choice(np.array(["black", "same", "dark"]), p=[0.45, 0.35, 0.20])),
        interests=float(rng.random()),
        sun=one("corner", "full", "face", "spiral"),
        sun_side=-1 if rng.random() < 0.5 else 1,
        eyes=one("dot", "ring", "almond", "lash"),
        mouth=one("smile", "open", "lips", "wide"),
        cheeks=bool(rng.random() < 0.3),
        hair=one(*HAIR),
        hair_color=one("brown", "black", "yellow", "orange", "black", "brown", "dark brown"),
        skin=int(rng.integers(5)),
        body=one("triangle", "oval", "box"),
        hands=one("rake", "sun", "mitt", "ball"),
        tree=one("lolly", "lolly", "cloud", "fir", "apple"),
        cloud=one("puff", "loop", "flat"),
        flower=one("daisy", "tulip", "spiral"),
        grass=one("spikes", "strip", "scribble"),
        ears=one("point", "round", "flop"),
        border=bool(rng.random() < 0.12),
    )
