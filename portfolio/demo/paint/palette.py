"""The colors a medium has for a color name, sRGB 0-1."""

import numpy as np

from portfolio.demo.paint.shape import Points

NAMES = ("red", "orange", "yellow", "lime", "green", "sky", "blue", "violet", "pink", "brown")
_ROWS: dict[str, tuple[tuple[int, int, int], ...]] = {
    "wax": (
        (203, 44, 48),
        (236, 112, 42),
        (250, 212, 52),
        (160, 198, 66),
        (48, 132, 72),
        (110, 180, 222),
        (40, 84, 168),
        (104, 66, 146),
        (236, 128, 168),
        (112, 68, 42),
    ),
    "marker": (
        (222, 32, 48),
        (246, 122, 30),
        (252, 226, 40),
        (150, 206, 60),
        (28, 148, 82),
        (86, 190, 232),
        (26, 92, 186),
        (110, 58, 156),
        (240, 110, 170),
        (126, 74, 44),
    ),
    "tempera": (
        (200, 36, 40),
        (232, 104, 34),
        (246, 204, 40),
        (138, 178, 62),
        (34, 112, 66),
        (116, 174, 214),
        (28, 66, 148),
        (94, 54, 124),
        (230, 136, 158),
        (98, 60, 38),
    ),
    "pan": (
        (214, 56, 58),
        (240, 134, 58),
        (250, 214, 76),
        (170, 196, 86),
        (62, 140, 92),
        (112, 180, 220),
        (48, 98, 176),
        (118, 80, 152),
        (234, 140, 164),
        (128, 84, 56),
    ),
    "paper": (
        (188, 52, 54),
        (224, 120, 56),
        (240, 204, 84),
        (166, 190, 92),
        (62, 122, 82),
        (140, 190, 216),
        (58, 96, 156),
        (104, 78, 134),
        (230, 152, 172),
        (116, 80, 56),
    ),
}
_SKINS = ((246, 206, 172), (226, 178, 132), (196, 140, 98), (158, 106, 72), (122, 80, 56))
_EXTRA = {
    "black": (42, 40, 42),
    "white": (246, 244, 240),
    "gray": (138, 138, 142),
    "tan": (206, 176, 128),
    "teal": (40, 148, 148),
}
_NEIGHBOR = {
    "red": "orange",
    "orange": "yellow",
    "yellow": "orange",
    "lime": "green",
    "green": "lime",
    "sky": "blue",
    "blue": "violet",
    "violet": "pink",
    "pink": "violet",
    "brown": "orange",
    "gray": "blue",
    "tan": "brown",
    "teal": "green",
    "black": "blue",
    "white": "sky",
}
SHEETS = {
    "white": (246, 244, 238),
    "sulphite": (240, 237, 228),
    "manila": (231, 213, 170),
    "watercolor": (244, 241, 231),
    "black": (44, 43, 46),
    "kraft": (186, 148, 103),
    "newsprint": (222, 216, 202),
}


def color(name: str, *, palette: str = "wax") -> Points:
    """The color of a name ("red", "skin2", "dark green", "light blue") in a palette;
    refuses other names with KeyError.
    """
    tone, _, base = name.rpartition(" ")
    rgb = np.array(_base(base, "wax" if palette in ("chalk", "graphite") else palette), dtype=np.float64) / 255
    if palette == "chalk":
        rgb = rgb * 0.78 + 56 / 255
    if palette == "graphite":  # the lighter the color, the lighter the gray
        gray = float(rgb @ np.array([0.3, 0.59, 0.11])) ** 0.7
        rgb = np.array([0.26, 0.26, 0.28]) + gray * 0.66
    if tone == "dark":
        return rgb * 0.62
    if tone == "light":
        return rgb * 0.5 + 0.48
    return rgb


def _base(name: str, palette: str) -> tuple[int, int, int]:
    if name.startswith("skin"):
        return _SKINS[int(name[4:])]
    return _EXTRA[name] if name in _EXTRA else dict(zip(NAMES, _ROWS[palette], strict=True))[name]


def sheet_color(name: str) -> Points:
    """The color of a sheet of paper: a kind of paper ("manila") or colored construction paper ("red")."""
    if name in SHEETS:
        return np.array(SHEETS[name], dtype=np.float64) / 255
    return color(name, palette="paper")


def neighbor(name: str) -> str:
    """The color a child of mixing age would put beside or over this one."""
    base = name.rsplit(maxsplit=1)[-1]
    return _NEIGHBOR.get(base, "brown" if base.startswith("skin") else base)


def plain(name: str) -> str:
    """The everyday word for a color name, for titles: "dark green" is "green", a skin tone is "brown"."""
    base = name.rsplit(maxsplit=1)[-1]
    return "brown" if base.startswith("skin") or base == "tan" else base
