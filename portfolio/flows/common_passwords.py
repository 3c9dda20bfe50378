"""Passwords that anyone would try first, written down from memory: words of the list are lower case.

Digits and signs at the end are taken off before looking, so "artroom2026!" is found as "artroom".
"""

from __future__ import annotations

from typing import Final

COMMON: Final = frozenset(
    """
    password passw0rd p@ssword p@ssw0rd pass passwort passphrase mypassword newpassword yourpassword
    qwerty qwertyuiop qwertz qwerty123 asdfgh asdfghjkl zxcvbn zxcvbnm 1q2w3e4r 1q2w3e4r5t 1qaz2wsx qazwsx q1w2e3r4
    abcdefgh abcdefg abcdef abcd1234 abc123 a1b2c3d4 aa123456 123qwe qwe123 12345678 123456789 1234567890 123123123
    87654321 987654321 11111111 00000000 12341234 12344321 11223344 111222333 31415926 20202020
    iloveyou iloveu loveyou sunshine princess superman batman starwars pokemon dragon monkey shadow master hello
    helloworld welcome letmein letmeinnow trustno1 whatever football baseball basketball soccer hockey softball
    michael jennifer jessica michelle charlie jordan ashley nicole daniel thomas andrew joshua matthew
    computer internet samsung google chocolate butterfly flower summer winter spring autumn september october
    november december january february monday friday sunday
    admin administrator root login guest user test testing changeme default temp temporary secret
    teacher teachers student students classroom school elementary myschool artroom artclass artteacher artist
    art artwork painting crayon crayons portfolio gallery museum creative kindergarten
    """.split()  # noqa: SIM905  a list of words reads better as words
)
