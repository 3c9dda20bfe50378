"""Everyday words of children's English; picked by hand for this program.

Some are names too, yet no page can do without them ("I will", "it may", "green", "brush"): as a name they count only
when written with a capital letter, or after a word like "with". None is ever taken for a misspelled name. Words that
are mostly names to a child (river, sky, summer …) are left out on purpose.
"""

from __future__ import annotations

from typing import Final


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_NAMES_TOO: Final = _words(
    """
    a an and any are art as at august ball banks barber bass bay be bell berry best bill bird black blue bond book
    bow boy branch bright brown bush butler by can case chance chase child clay cliff cook cross curry day days
    dean do drew east english fields fish fisher flowers foot ford fox frost garden glass go gold good grant gray
    green grey ground guy hall hand hands hart head heart her hill hills him holiday home house how hunt i in is it
    jack joy judge just king knight land lane law lee light little long lord love low major man march marks mark
    mason may mean miles mills moon moore more my nice north no noble of oh old on or page paint park parks part
    pat peace penny per pink pond pool poor pope power price prince purple queen read red rich rob rock room sand
    school see she shell ship short small snow so son song south spring stars stone street strong sue sun sweet
    swift tan teller the them they this tiny to trees true two us van wall walls ward water we weeks west wheel
    white who will wind wine wise wolf wood woods word work worth yellow you young zoo
    """
)

COMMON_WORDS: Final = _NAMES_TOO | _words(
    """
    olive olives lava marry merry melon anger sandal sandals candle candles mango mangos maple marble marbles
    about above across after again air all almost along already also always am among animal animals another answer
    apple arm arms around artist artists ask asked away baby back bad bag balloon banana beach bear beautiful
    because become bed been before began begin being below beside better between big bike birds birthday bite blow
    boat body bones books both bottle bottom bought bowl box boys brave bread break bring broke brother brush
    brushes bubble bug build building built bunny burn bus busy but butterfly buy cake call called came candy
    cannot car card cards care carrot cars carry castle cat catch cats cause center chair change check cheese
    cherry children choose circle circles city class clean clear climb close cloth clothes cloud clouds coat cold
    collage color colored colors colour come cookie cool corner could count country cousin cover cow cows crayon
    crayons crazy cream created crown cry cut cute dad dance dark day decided deep deer design detail did
    different dig dinosaur dirt dog dogs doing dolphin done door dots down dragon draw drawing drawn dream dress
    dried drip drop dry duck each ear early earth easy eat edge egg eggs eight elephant else end enjoy enough even
    ever every everyone everything eye eyes face fall family fan far farm fast fat favorite feather feel feeling
    feet felt few fight fill find fine finger fire first five flag flat floor flower fly folded follow food for
    found four free friend friends frog from front fruit full fun funny fur game games gave get ghost giant girl
    girls give glad glue gone got grandma grandpa grape grass great grew group grow had hair half happy hard has
    hat have he hear heard hearts heavy helicopter help helped here hers hide high his hit hold hole holes hop
    horse horses hot hour houses huge hungry hurt ice idea if important inside into island jump jumping jungle
    keep kept kid kids kind kite kitten knew know ladder lady lake last late later laugh leaf learn learned leave
    leaves left leg legs lemon let letter life like liked likes line lines lion listen live lived lives look
    looked looking looks lost lot lots lovely lunch machine mad made magic make makes making many marker markers
    mask me medium melted mermaid mess messy middle might milk mine mix mixed mixing mom monkey monster month
    morning most mother mountain mountains mouse mouth move moving much mud music must name named near neck need
    needed nest never new next night nine nobody noise none nose not nothing now number ocean off often one only
    open orange other our out outside oval over own owl painted painting paintings panda paper party past paste
    pastel pattern patterns pencil pencils people person pet photo picture pictures piece pieces pig pizza place
    plan plane planet plant plants play played playing please point pointy poster pot practice pretty print prints
    problem proud pull puppy push put puzzle quick quiet quite rabbit race rainbow ran really remember ride right
    road robot rocket roll roof round row rug run running sad safe said same sat saw say scared scary scissors
    scratch sea secret seed seeds seen sew shadow shape shapes shark sharp sheep shiny shoe shoes show side silly
    silver simple sing sister sit six size skin sleep slide slow smell smile smooth snail snake snowman soft some
    somebody someone something sometimes soon sound space spider splash sponge spots square stand start started
    stay step stick sticks sticky still stitch stop story straight string stripes stuck stuff such sun sunset
    super sure surprise swim table tail take takes talk tall tape taste teacher teeth tell ten texture than thank
    that their then there these thing things think third thought three threw through tiger time tired together
    told took top touch toward town toy toys train tree triangle tried truck try trying turn turned turtle twist
    under unicorn until up use used using very view village visit volcano wait walk want wanted warm was wash
    watch watercolor wave waves way wear weather weave weaving well went were wet what when where which while
    whole why wide wild window windows wings wish with without woman wonder worked world worm would write wrong
    yarn year yes yesterday yet your zebra zigzag
    """
)
"""Folded, small letters."""
