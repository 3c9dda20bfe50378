"""Reading cards: what is sure, what is to check, what contradicts itself. Never a number that is not there."""

import json
from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.cards.draw import card_image
from portfolio.cards.geometry import RIGHT_OFFSET, VALUES, Side, tag_corners
from portfolio.model.cards import CardKind, CardStatus
from portfolio.model.photo import PhotoSeen, Reading
from portfolio.model.seen_json import cards_of, seen_as_json
from portfolio.reading.cards import MAX_MISFIT, UNREAD, find_cards, judge, misfit
from portfolio.reading.tags import Tag, _second_reader, find_tags, find_tags_again, joined

PX_PER_MM = 4.0
NUMBER, MEDIUM, CONTROL = CardKind.NUMBER, CardKind.MEDIUM, CardKind.CONTROL


class Desk:
    """A gray table on which cards are laid by hand: enough of a photo for the reader."""

    def __init__(self, width=1600, height=1200, seed=3):
        self.pixels = np.random.default_rng(seed).normal(120, 5, (height, width)).clip(0, 255).astype(np.uint8)

    def lay(self, kind, value, at=(300, 300), angle=0.0, scale=1.0, picture=None):
        card = card_image(kind, value, PX_PER_MM) if picture is None else picture
        turn = cv2.getRotationMatrix2D((0, 0), angle, scale)
        turn[:, 2] = at
        size = self.pixels.shape[::-1]
        flat = cv2.warpAffine(card, turn, size, flags=cv2.INTER_AREA)
        cover = cv2.warpAffine(np.full(card.shape, 255, np.uint8), turn, size)
        self.pixels[cover > 127] = flat[cover > 127]
        return self

    def shrink_for(self, least_px):
        long_px = max(self.pixels.shape)
        return next((shrink for shrink in (8, 4, 2) if long_px / shrink >= least_px), 1)

    def gray(self, shrink=1):
        size = (self.pixels.shape[1] // shrink, self.pixels.shape[0] // shrink)
        return cv2.resize(self.pixels, size, interpolation=cv2.INTER_AREA)


def said(cards):
    return [(card.kind, card.value, card.status) for card in cards]


@pytest.mark.parametrize("angle", [0, 35, 90, 180, 271])
def test_a_card_is_read_surely_however_it_lies(angle):
    """Both tags, one geometry: sure. The corners are those of the printed tag, in its own order."""
    cards = find_cards(Desk().lay(NUMBER, 14, (800, 600), angle))
    assert said(cards) == [(NUMBER, 14, CardStatus.SURE)]
    turn = cv2.getRotationMatrix2D((0, 0), angle, 1.0)[:, :2]
    for side, seen in ((Side.LEFT, cards[0].left_px), (Side.RIGHT, cards[0].right_px)):
        true = (np.array(tag_corners(side)) * PX_PER_MM - 0.5) @ turn.T + (800, 600)
        assert np.abs(np.array(seen) - true).max() < 2.5


def test_a_card_smeared_by_more_than_its_squares_is_read():
    """Moved by two squares: the first reader does not see both tags at any scale, the second does on the coarse one."""
    desk = Desk(4000, 3000).lay(NUMBER, 3, (800, 700), 10, scale=0.7)
    smear_px = 25
    smear = np.zeros((smear_px, smear_px), np.float32)
    smear[smear_px // 2] = 1 / smear_px
    desk.pixels = cv2.filter2D(desk.pixels, -1, smear)
    assert max(len(find_tags(desk.gray(shrink), factor=shrink)) for shrink in (4, 2)) < 2
    assert len(find_tags_again(desk.gray(2), factor=2)) < 2
    assert said(find_cards(desk)) == [(NUMBER, 3, CardStatus.SURE)]


@pytest.mark.parametrize(("kind", "value"), [(kind, values[0]) for kind, values in VALUES.items()])
def test_every_kind_of_card_is_known(kind, value):
    """Number, medium, control and class cards say what they are."""
    assert said(find_cards(Desk().lay(kind, value))) == [(kind, value, CardStatus.SURE)]


def test_all_forty_numbers_are_read_as_themselves():
    """No number is ever read as another."""
    for value in VALUES[NUMBER]:
        assert said(find_cards(Desk(640, 320).lay(NUMBER, value, (40, 40)))) == [(NUMBER, value, CardStatus.SURE)]


@pytest.mark.parametrize(("at", "side"), [((-250, 300), "right"), ((1240, 300), "left")])
def test_half_a_card_is_to_check(at, side):
    """A card cut by the frame gives its number, to be checked, and says which half is seen."""
    (card,) = find_cards(Desk().lay(NUMBER, 14, at))
    assert (card.value, card.status) == (14, CardStatus.CHECK)
    assert side in card.why
    assert (card.left_px is None) == (side == "right")


def test_two_number_cards_contradict_each_other():
    """Two numbers in one photo: both conflict."""
    cards = find_cards(Desk().lay(NUMBER, 3, (100, 100)).lay(NUMBER, 17, (800, 700), 20))
    assert said(cards) == [(NUMBER, 3, CardStatus.CONFLICT), (NUMBER, 17, CardStatus.CONFLICT)]


def blurred(desk, at, sigma_px):
    """The desk with what lies below and right of a place out of focus."""
    x, y = at
    desk.pixels[y:, x:] = cv2.GaussianBlur(desk.pixels[y:, x:], None, sigma_px)
    return desk


@pytest.mark.parametrize("sigma_px", [9, 10, 11, 12])
def test_one_card_read_at_a_glance_does_not_end_the_search_for_a_blurred_one(sigma_px):
    """The first look reads 14 only, and sees that something like a tag lies there besides."""
    desk = blurred(Desk(3800, 2800).lay(NUMBER, 14, (400, 400)).lay(NUMBER, 9, (2000, 1500)), (1800, 1300), sigma_px)
    assert {tag.id for tag in find_tags(desk.gray(4), factor=4)} == {14, 164}
    assert said(find_cards(desk)) == [(NUMBER, 14, CardStatus.CONFLICT), (NUMBER, 9, CardStatus.CONFLICT)]


def test_a_card_that_nobody_can_read_puts_the_other_in_doubt():
    """A mirrored tag has the frame and the cells of one, but no number."""
    unreadable = np.ascontiguousarray(card_image(NUMBER, 9, PX_PER_MM)[:, ::-1])
    desk = Desk(3800, 2800).lay(NUMBER, 14, (400, 400)).lay(NUMBER, 9, (2000, 1500), picture=unreadable)
    (card,) = find_cards(desk)
    assert (card.value, card.status, card.why) == (14, CardStatus.CHECK, UNREAD)
    assert card.alone is CardStatus.SURE


@pytest.mark.parametrize("within", [20, 60, 230])
def test_a_dark_square_in_a_drawing_is_no_card(within):
    """As large and dark as a tag, white all round, but without white cells, or (a window) without black ones."""
    desk = Desk(3800, 2800).lay(NUMBER, 14, (400, 400))
    desk.pixels[1500:2100, 1500:2100] = 250
    desk.pixels[1700:1860, 1700:1860] = 15
    desk.pixels[1740:1820, 1740:1820] = within
    assert said(find_cards(desk)) == [(NUMBER, 14, CardStatus.SURE)]


def test_what_each_of_two_cards_would_be_by_itself_is_kept():
    """Two numbers contradict each other, but each is sure for a work of its own; the record keeps that. The same card
    twice is sure of nothing.
    """
    cards = find_cards(Desk().lay(NUMBER, 3, (100, 100)).lay(NUMBER, 17, (800, 700), 20))
    assert [card.alone for card in cards] == [CardStatus.SURE] * 2
    cards = (cards[0], replace(cards[1], shaken=True))
    kept = seen_as_json(PhotoSeen("photo", Reading(None, cards)))
    assert cards_of(json.loads(json.dumps(kept))) == cards
    twice = find_cards(Desk().lay(NUMBER, 3, (100, 100)).lay(NUMBER, 3, (800, 700), 20))
    assert [card.alone for card in twice] == [CardStatus.CONFLICT] * 2


def test_the_group_card_allows_several_numbers():
    """With the card "group work" several numbers are meant."""
    desk = Desk().lay(NUMBER, 3, (60, 100)).lay(NUMBER, 17, (800, 700)).lay(CONTROL, 102, (800, 100))
    assert {card.status for card in find_cards(desk)} == {CardStatus.SURE}


def test_the_same_card_twice_is_a_conflict():
    """Two copies of one card: something is wrong on the table."""
    cards = find_cards(Desk().lay(NUMBER, 3, (60, 100)).lay(NUMBER, 3, (800, 700)))
    assert {card.status for card in cards} == {CardStatus.CONFLICT}


def test_a_number_and_a_medium_card_live_together():
    """Cards of different kinds do not contradict each other."""
    cards = find_cards(Desk().lay(NUMBER, 3, (60, 100)).lay(MEDIUM, 61, (800, 700)))
    assert {card.status for card in cards} == {CardStatus.SURE}


def mixed_halves(left, right):
    one, other = (card_image(NUMBER, value, PX_PER_MM) for value in (left, right))
    return np.hstack([one[:, : one.shape[1] // 2], other[:, one.shape[1] // 2 :]])


def test_halves_of_two_cards_put_together_are_a_conflict():
    """A card glued from two halves is neither number."""
    cards = find_cards(Desk().lay(NUMBER, 0, picture=mixed_halves(14, 15)))
    assert {(card.value, card.status) for card in cards} == {(14, CardStatus.CONFLICT), (15, CardStatus.CONFLICT)}


def test_a_folded_card_is_a_conflict():
    """Two matching tags that do not lie in one plane are not trusted."""
    card = card_image(NUMBER, 14, PX_PER_MM)
    half = card.shape[1] // 2
    desk = Desk().lay(NUMBER, 0, (200, 300), picture=card[:, :half])
    cards = find_cards(desk.lay(NUMBER, 0, (700, 700), -60, picture=card[:, half:]))
    assert said(cards) == [(NUMBER, 14, CardStatus.CONFLICT)]


@pytest.mark.parametrize("tag_id", [0, 41, 60, 91, 191, 261, 300, 361, 586])
def test_an_id_that_means_nothing_is_not_there(tag_id):
    """Tags of the family that no card carries never count, not even as a doubt."""
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    tag = cv2.copyMakeBorder(
        cv2.aruco.generateImageMarker(family, tag_id, 160), 40, 40, 40, 40, cv2.BORDER_CONSTANT, value=210
    )
    desk = Desk().lay(NUMBER, 0, picture=tag)
    assert tag_id in (260, 301) or find_cards(desk) == ()


def test_a_mirrored_photo_has_no_card():
    """A front camera's mirror picture is not read as some other number."""
    desk = Desk().lay(NUMBER, 14)
    desk.pixels = np.ascontiguousarray(desk.pixels[:, ::-1])
    assert find_cards(desk) == ()


@pytest.mark.parametrize("seed", range(4))
def test_a_picture_without_cards_gives_none(seed):
    """Stripes, checks and noise are no cards."""
    rng = np.random.default_rng(seed)
    desk = Desk(seed=seed)
    small = rng.integers(0, 2, (60, 80)).astype(np.uint8) * 200 + 20
    desk.pixels = cv2.resize(small, (1600, 1200), interpolation=cv2.INTER_NEAREST)
    assert find_cards(desk) == ()


def test_both_readers_agree_on_ids_and_corners():
    """The second, independent reader gives the same corners in the same order (AprilTag authors' own code)."""
    for angle in (0, 200):
        gray = Desk(1300, 900).lay(NUMBER, 23, (650, 450), angle).gray(1)
        first = {tag.id: np.array(tag.corners_px) for tag in find_tags(gray, factor=1)}
        second = {tag.id: np.array(tag.corners_px) for tag in find_tags_again(gray, factor=1)}
        assert set(first) == set(second) == {23, 23 + RIGHT_OFFSET}
        for tag_id, corners in first.items():
            assert np.abs(corners - second[tag_id]).max() < 3


def test_corners_of_a_shrunk_picture_are_those_of_the_full_one():
    """A factor carries pixel centers, not pixel edges."""
    desk = Desk().lay(NUMBER, 23)
    full = {tag.id: np.array(tag.corners_px) for tag in find_tags(desk.gray(1), factor=1)}
    half = {tag.id: np.array(tag.corners_px) for tag in find_tags(desk.gray(2), factor=2)}
    for tag_id, corners in full.items():
        assert np.abs(corners - half[tag_id]).mean() < 1.2


def seen_tag(tag_id, side, homography) -> Tag:
    flat = np.array([tag_corners(side)], np.float64)
    return Tag(tag_id, tuple(map(tuple, cv2.perspectiveTransform(flat, homography)[0].tolist())))


slants = st.tuples(*[st.floats(-0.25, 0.25)] * 4, st.floats(-6e-4, 6e-4), st.floats(-6e-4, 6e-4))


@settings(max_examples=80, deadline=None)
@given(slants, st.sampled_from(list(VALUES[NUMBER])), st.floats(1.5, 12))
def test_any_view_of_a_flat_card_fits_one_geometry(slant, value, scale):
    """Whatever the perspective, two tags of one flat card are one sure card; shift one and they are not."""
    a, b, c, d, e, f = slant
    view = np.diag([scale, scale, 1]) @ np.array([[1 + a, b, 400], [c, 1 + d, 300], [e, f, 1]])
    tags = seen_tag(value, Side.LEFT, view), seen_tag(value + RIGHT_OFFSET, Side.RIGHT, view)
    assert misfit(*tags) < 1e-6
    assert said(judge(tags)) == [(NUMBER, value, CardStatus.SURE)]
    moved = Tag(tags[1].id, tuple((x, y + 0.9 * tags[1].side_px * i) for i, (x, y) in enumerate(tags[1].corners_px)))
    assert misfit(tags[0], moved) > MAX_MISFIT
    assert said(judge((tags[0], moved))) == [(NUMBER, value, CardStatus.CONFLICT)]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([1, 2, 40, 61, 101]), st.sampled_from(Side), st.integers(0, 5)), max_size=5))
def test_no_mixture_of_tags_makes_a_sure_card_but_a_true_pair(tags):
    """Sure needs both tags of one card at one place, and no second card of the kind."""
    laid = {
        Tag(value + (RIGHT_OFFSET if side is Side.RIGHT else 0), seen_tag(0, side, view).corners_px)
        for value, side, place in tags
        for view in [np.array([[2.0, 0, 400 * place], [0, 2.0, 300 * (place % 2)], [0, 0, 1]])]
    }
    for card in judge(tuple(laid)):
        if card.status is CardStatus.SURE:
            pair = {(tag.id, tag.corners_px) for tag in laid}
            assert (card.value, card.left_px) in pair
            assert (card.value + RIGHT_OFFSET, card.right_px) in pair


def test_joining_finds_keeps_one_of_each():
    """The same tag found twice is one; the same id elsewhere is another."""
    tag = Tag(3, ((0, 0), (10, 0), (10, 10), (0, 10)))
    near = Tag(3, ((1, 1), (11, 1), (11, 11), (1, 11)))
    far = Tag(3, ((50, 0), (60, 0), (60, 10), (50, 10)))
    assert joined((tag,), (near, far)) == (tag, far)


def test_the_second_reader_is_never_taken_down():
    """Its library frees memory that it still uses (pupil-labs/apriltags#65): letting go of it must do nothing."""
    reader = _second_reader()
    before = reader.tag_detector_ptr
    reader.__del__()
    assert reader.tag_detector_ptr is before
    assert {tag.id for tag in find_tags_again(Desk(700, 400).lay(NUMBER, 9, (60, 60)).gray(1), factor=1)} == {9, 159}
