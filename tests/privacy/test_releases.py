"""What a family allowed: the newest line counts, a refusal does not wear out, nothing recorded shows nothing."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from portfolio.model.people import Audience, NameForm, Release
from portfolio.privacy.releases import all_may_show, may_show, name_form, standing, strictest
from tests.support.names import DAY, make_release

DAYS = st.dates(date(2020, 1, 1), date(2030, 1, 1))
RELEASES = st.lists(
    st.builds(
        Release,
        st.just(1),
        st.sampled_from(Audience),
        st.booleans(),
        st.sampled_from(NameForm),
        DAYS,
        st.one_of(st.none(), DAYS),
    ),
    max_size=8,
)


def test_nothing_recorded_shows_nothing():
    """Without a line, no audience but the teacher sees a work or a name."""
    for audience in Audience:
        assert may_show((), audience, day=DAY) is (audience is Audience.TEACHER)
        assert name_form((), audience, day=DAY) is (NameForm.FULL if audience is Audience.TEACHER else NameForm.NONE)


def test_a_refusal_outlives_its_form_and_leaving_school():
    """A refusal with an end date still stands years later (34 CFR 99.37(b)), although an older line allowed."""
    lines = (
        make_release(from_day=date(2023, 9, 1)),
        make_release(allowed=False, from_day=date(2024, 9, 1), to_day=date(2025, 6, 30)),
    )
    assert not may_show(lines, Audience.PUBLIC, day=date(2031, 1, 1))


def test_a_later_yes_ends_a_refusal():
    """A family may change its mind: the newer line counts from its day on."""
    lines = (make_release(allowed=False, from_day=date(2024, 9, 1)), make_release(from_day=date(2025, 9, 1)))
    assert not may_show(lines, Audience.PUBLIC, day=date(2025, 8, 31))
    assert may_show(lines, Audience.PUBLIC, day=date(2025, 9, 1))


def test_an_allowance_ends_on_its_last_day():
    """Allowed to June 30: shown on June 30, not on July 1."""
    lines = (make_release(to_day=date(2027, 6, 30)),)
    assert may_show(lines, Audience.PUBLIC, day=date(2027, 6, 30))
    assert not may_show(lines, Audience.PUBLIC, day=date(2027, 7, 1))


def test_each_audience_is_asked_by_itself():
    """Allowed in print is not allowed on the web (34 CFR 99.37(d): limited directory information)."""
    lines = (make_release(Audience.COMMUNITY, form=NameForm.FIRST),)
    assert may_show(lines, Audience.COMMUNITY, day=DAY)
    assert not may_show(lines, Audience.PUBLIC, day=DAY)


def test_two_lines_of_one_day_the_more_private_counts():
    """Whatever their order."""
    lines = [make_release(form=NameForm.FULL), make_release(form=NameForm.NONE), make_release(allowed=False)]
    for order in (lines, lines[::-1]):
        found = standing(order, Audience.PUBLIC, day=DAY)
        assert found is not None
        assert not found.allowed


@given(RELEASES, DAYS)
def test_no_audience_sees_more_than_its_limit(lines, day):
    """Public and community never more than a first name, school never more than first name and initial."""
    assert name_form(lines, Audience.PUBLIC, day=day) in (NameForm.NONE, NameForm.FIRST)
    assert name_form(lines, Audience.COMMUNITY, day=day) in (NameForm.NONE, NameForm.FIRST)
    assert name_form(lines, Audience.SCHOOL, day=day) is not NameForm.FULL


@given(RELEASES, DAYS)
def test_a_refusal_is_never_beaten_by_an_older_yes(lines, day):
    """If the newest line that has begun is a refusal, nothing is shown."""
    begun = [line for line in lines if line.audience is Audience.PUBLIC and line.from_day <= day]
    if begun and not all(line.allowed for line in begun if line.from_day == max(one.from_day for one in begun)):
        assert not may_show(lines, Audience.PUBLIC, day=day)


def test_a_group_work_takes_the_strictest_release():
    """One family's no takes the work out; one family's no-name takes all names off."""
    yes, no = (make_release(form=NameForm.FIRST),), (make_release(allowed=False),)
    assert all_may_show([yes, yes], Audience.PUBLIC, day=DAY)
    assert not all_may_show([yes, no], Audience.PUBLIC, day=DAY)
    assert not all_may_show([], Audience.PUBLIC, day=DAY)
    assert strictest([NameForm.FULL, NameForm.NONE, NameForm.FIRST]) is NameForm.NONE
    assert strictest([]) is NameForm.NONE
