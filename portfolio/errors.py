"""Every sentence of bad news stands here once: code → what is said, what to do, how the door answers.

Four kinds of bad news are told apart (see DEVELOPERS.md): doubt (a ``Question``), trouble with one item
(a ``Problem``), "cannot go on" (a ``PortfolioError``) and our own mistakes (anything else).
A sentence names the item, says what was found, what is safe, and what to do next. It never holds a
child's name, never a path, never blame.
"""

from __future__ import annotations

import traceback
from dataclasses import dataclass, field
from enum import IntEnum
from pathlib import Path
from types import MappingProxyType
from typing import Final


class Exit(IntEnum):
    """Exit status of the command line by kind of trouble."""

    OK = 0
    PROGRAM = 1
    """Something went wrong in the program itself."""
    USAGE = 2
    """The command's words do not fit."""
    ITEMS = 3
    """The run ended, but some items had a problem."""
    REFUSED = 4
    """Refused on purpose: a name would have leaked, a release is missing."""
    NOT_FOUND = 5
    """What was asked for is not there."""
    LIBRARY = 6
    """The library cannot be used: locked, missing, newer, damaged."""
    DISK = 7
    """The disk is full or cannot be written."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One row of the table: the text (with ``{fields}``), the remedy, and how a door answers."""

    text: str
    remedy: str
    exit: Exit = Exit.ITEMS
    http: int = 422


_TABLE: dict[str, Sentence] = {
    # --- one photo ----------------------------------------------------------------------------------
    "photo-empty": Sentence(
        "{item} is empty: it holds no bytes.",
        "Nothing else in the batch is touched. Copy this photo from the phone or camera again.",
    ),
    "photo-not-a-picture": Sentence(
        "{item} is not a picture that can be read ({found}).",
        "Its bytes are kept unchanged. If it should be a photo, copy it from the phone or camera again.",
    ),
    "photo-unsupported": Sentence(
        "{item} is a kind of picture that is not read here ({found}).",
        "Its bytes are kept unchanged. Save it as JPEG or PNG and add that copy.",
    ),
    "photo-damaged": Sentence(
        "{item} is damaged: {found}.",
        "Its bytes are kept unchanged. Copy it from the phone or camera again, or take the photo again.",
    ),
    "photo-too-large": Sentence(
        "{item} is {found}, more than can be opened here.",
        "Its bytes are kept unchanged. Save a smaller copy and add that.",
    ),
    "photo-too-heavy": Sentence(
        "{item} is a file of {found}, more than one photo may weigh.",
        "It was left where it is and nothing was changed. Save a smaller copy and add that.",
    ),
    "photo-out-of-time": Sentence(
        "{item} took too long to read and was stopped.",
        "Its bytes are kept unchanged and the batch went on. Save it as JPEG and add that copy.",
    ),
    "photo-out-of-memory": Sentence(
        "{item} needs more memory than one photo may take, so reading it was stopped.",
        "Its bytes are kept unchanged and the batch went on. Save a smaller copy and add that.",
    ),
    "photo-reader-stopped": Sentence(
        "{item} stopped the photo reader ({found}).",
        "Its bytes are kept unchanged and the batch went on. Save it as JPEG and add that copy.",
    ),
    "photo-unreadable-file": Sentence(
        "{item} cannot be read from the disk ({found}).",
        "The other photos are taken in. Check the card or stick, then add this photo again.",
    ),
    "photo-changing": Sentence(
        "{item} was still being copied while it was read.",
        "Nothing was stored for it. Wait until the copy is done, then add it again.",
    ),
    # --- taking in ----------------------------------------------------------------------------------
    "folder-without-photos": Sentence(
        "{item} holds no photos.",
        "Nothing was changed. Choose the folder, zip or files that hold the photos.",
        Exit.NOT_FOUND,
        404,
    ),
    "folder-unreadable": Sentence(
        "{item} cannot be opened ({found}).",
        "The other folders are taken in. Check that you may read this folder, then add it again.",
    ),
    "path-missing": Sentence(
        "{item} is not there.",
        "Nothing was changed. Check the spelling, or plug in the stick or camera, then try again.",
        Exit.NOT_FOUND,
        404,
    ),
    "zip-damaged": Sentence(
        "{item} cannot be opened as a zip file ({found}).",
        "Nothing was taken from it. Make the zip file again, or unpack it and add the folder.",
    ),
    "zip-entry-refused": Sentence(
        "{item} inside the zip file was left out ({found}).",
        "The other photos are taken in. Unpack the zip file by hand if this photo is needed.",
    ),
    # --- the library --------------------------------------------------------------------------------
    "library-missing": Sentence(
        "There is no library at the place given.",
        "Make one with 'portfolio init', or say where it is with --library.",
        Exit.LIBRARY,
        503,
    ),
    "library-exists": Sentence(
        "There is a library at this place already.",
        "Nothing was changed. Use it as it is, or give another place.",
        Exit.LIBRARY,
        409,
    ),
    "library-in-use": Sentence(
        "The library is in use by another Portfolio (process {found}).",
        "Nothing was changed. Close the other one, or use the app that is open, then try again.",
        Exit.LIBRARY,
        503,
    ),
    "library-newer": Sentence(
        "The library was written by a newer Portfolio ({found}).",
        "Nothing was changed. Install the newer Portfolio and open the library with it.",
        Exit.LIBRARY,
        503,
    ),
    "library-damaged": Sentence(
        "The library's records cannot be read ({found}).",
        "The originals and their sidecars are kept apart. Restore a backup, or run "
        "'portfolio doctor --rebuild-from-sidecars'.",
        Exit.LIBRARY,
        503,
    ),
    "settings-unreadable": Sentence(
        "The library's portfolio.toml cannot be used ({found}).",
        "Nothing was changed. Correct that line, or delete the file to get the defaults back.",
        Exit.LIBRARY,
        503,
    ),
    "disk-full": Sentence(
        "The disk is full: {item} could not be stored.",
        "Everything stored before is safe and nothing is half-filed. Free some space, then add the same photos "
        "again; those already stored are skipped.",
        Exit.DISK,
        507,
    ),
    "disk-unwritable": Sentence(
        "The library's disk refused to be written ({found}).",
        "Nothing was half-filed. Check that the disk is there and may be written, then try again.",
        Exit.DISK,
        507,
    ),
    "original-missing": Sentence(
        "The original of {item} is missing from the library.",
        "The record is kept. Restore the original from a backup.",
    ),
    "original-coming": Sentence(
        "The original of {item} is still on its way.",
        "A small picture of it is shown until then. Leave the page that sends it open, or add this photo again.",
        Exit.NOT_FOUND,
        404,
    ),
    "original-altered": Sentence(
        "The original of {item} is no longer the same bytes as when it was stored.",
        "Nothing was overwritten. Restore the original from a backup.",
    ),
    "original-unknown": Sentence(
        "{item} is in the store, but no record speaks of it.",
        "Its bytes are kept. It is read as a new photo when the app starts or photos are next taken in.",
    ),
    # --- backup and restore -------------------------------------------------------------------------
    "backup-place": Sentence(
        "This folder cannot take the backup: {found}.",
        "Nothing was changed. Give an empty folder, a new one, or the one with the last backup.",
        Exit.REFUSED,
        409,
    ),
    "backup-of-another": Sentence(
        "This folder holds the backup of another library.",
        "Nothing was changed, and that backup is whole. Give another folder.",
        Exit.REFUSED,
        409,
    ),
    "backup-busy": Sentence(
        "A backup into this folder is being made already.",
        "Nothing was changed. Wait until it is done, then look again.",
        Exit.REFUSED,
        409,
    ),
    "backup-full": Sentence(
        "The disk has too little space for all of it.",
        "The library is untouched, and a backup made before is whole. Free some space or use a larger disk, then try "
        "again; what was copied is not copied twice.",
        Exit.DISK,
        507,
    ),
    "backup-disk": Sentence(
        "The disk of the backup could not be used ({found}).",
        "The library is untouched, and a backup made before is whole. Check that the disk is plugged in and may be "
        "written, then try again.",
        Exit.DISK,
        507,
    ),
    "backup-missing": Sentence(
        "There is no finished backup in this folder.",
        "Nothing was changed. Give the folder in which manifest-sha256.txt lies.",
        Exit.NOT_FOUND,
        404,
    ),
    "backup-unreadable": Sentence(
        "The backup cannot be used ({found}).",
        "Nothing was changed, here or there. Use another backup; the originals in this one can be checked with "
        "'sha256sum -c manifest-sha256.txt'.",
        Exit.LIBRARY,
        422,
    ),
    "backup-damaged": Sentence(
        "The backup is damaged: {found}.",
        "Nothing was changed, and every other file of it is whole. Use another backup, or bring back all but the "
        "damaged files with --leave-out-damaged.",
        Exit.LIBRARY,
        422,
    ),
    "original-unreadable": Sentence(
        "The original of {item} cannot be read from the library's disk ({found}).",
        "Everything else is backed up, and its copy in an earlier backup is kept. Have the disk looked at soon.",
    ),
    "sidecar-unreadable": Sentence(
        "The file {item} cannot be read from the library's disk ({found}).",
        "Everything else is backed up, and the records hold what it says. Have the disk looked at soon.",
    ),
    "backup-file-unreadable": Sentence(
        "{item} cannot be read from its disk.",
        "The other files are whole. Use another backup for this one.",
    ),
    "backup-file-missing": Sentence(
        "{item} is missing.",
        "The other files are whole. Use another backup for this one.",
    ),
    "backup-file-altered": Sentence(
        "{item} is no longer the same bytes as when it was written.",
        "The other files are whole. Use another backup for this one.",
    ),
    "restore-place": Sentence(
        "A library is only brought back into an empty folder, and this one is not empty.",
        "Nothing was changed. Give a new folder outside the backup.",
        Exit.REFUSED,
        409,
    ),
    # --- rosters, calendars, releases -----------------------------------------------------------------
    "roster-empty": Sentence(
        "{item} holds no lines of children.",
        "Nothing was changed. Export the list again and import that file.",
    ),
    "roster-too-large": Sentence(
        "{item} is {found}, more than a list of children can be.",
        "Nothing was changed. Export only the list of classes and students and import that file.",
    ),
    "roster-not-a-table": Sentence(
        "{item} is not a table in plain text ({found}).",
        "Nothing was changed. Open it in the spreadsheet program, save it as CSV, and import that file.",
    ),
    "roster-file-missing": Sentence(
        "The file {item} is not in the folder or zip file.",
        "Nothing was changed. Export the whole set again; users, classes and enrollments are needed.",
    ),
    "roster-columns-unsure": Sentence(
        "{item} has columns whose meaning is not sure ({found}).",
        "Nothing was changed. Look at the columns shown, then import again with --apply-guess or --column.",
    ),
    "roster-columns-missing": Sentence(
        "{item} has no column for {found}.",
        "Nothing was changed. Add the column, or say which one it is with --column, and import again.",
    ),
    "roster-name-missing": Sentence(
        "{item} has no name.",
        "This line was left out; the others were taken in. Fill in the name and import the file again.",
    ),
    "roster-class-missing": Sentence(
        "{item} names no class.",
        "This line was left out; the others were taken in. Fill in the class and import the file again.",
    ),
    "roster-class-unknown": Sentence(
        "{item} names a class that is not known ({found}).",
        "This line was left out; the others were taken in. Correct the class and import the file again.",
    ),
    "roster-child-unknown": Sentence(
        "{item} names a student who is not in the list of users.",
        "This line was left out; the others were taken in. Export the whole set again.",
    ),
    "roster-no-class": Sentence(
        "{item} is a student without a class.",
        "This line was left out; the others were taken in. Put the student in a class and import the file again.",
    ),
    "roster-grade-unknown": Sentence(
        "{item} has a grade that is not known ({found}).",
        "The grade of the class was used if one is known, else the line was left out. Correct it and import again.",
    ),
    "roster-number-twice": Sentence(
        "{item} has a number that another child of the class holds ({found}).",
        "The other child keeps it and this child got the next free number. Correct the file, or leave it so.",
    ),
    "roster-number-outside": Sentence(
        "{item} has a number that is not 1 to 40 ({found}).",
        "The child got the next free number. Correct the file, or leave it so.",
    ),
    "roster-number-kept": Sentence(
        "{item} has another number than the child holds ({found}).",
        "The child keeps the number, so that no card changes hands unseen. Change it by hand if it should change.",
    ),
    "roster-class-full": Sentence(
        "{item} is one child too many: all 40 numbers of the class are held.",
        "This line was left out; the others were taken in. Split the class, or end a number that is no longer used.",
    ),
    "roster-id-twice": Sentence(
        "{item} has the same id as another child ({found}).",
        "This line was left out; the others were taken in. Correct the id and import the file again.",
    ),
    "roster-line-twice": Sentence(
        "{item} says the same as an earlier line ({found}).",
        "It was taken once and nothing is lost. Nothing needs to be done.",
    ),
    "roster-line-odd": Sentence(
        "{item} cannot be read ({found}).",
        "This line was left out; the others were taken in. Correct it and import the file again.",
    ),
    "roster-date-unreadable": Sentence(
        "{item} has a date that cannot be read ({found}).",
        "The others were taken in. Write dates as 2026-09-01 and import the file again.",
    ),
    "roster-date-outside": Sentence(
        "{item} has a date outside the school year ({found}).",
        "This line was left out; the others were taken in. Check the year, then import the file again.",
    ),
    "roster-time-unreadable": Sentence(
        "{item} has a time that cannot be read ({found}).",
        "This line was left out; the others were taken in. Write times as 8:15 or 13:05 and import the file again.",
    ),
    "roster-cycle-day-outside": Sentence(
        "{item} has a cycle day that is not in the cycle ({found}).",
        "This line was left out; the others were taken in. Correct it, or change the cycle, and import the file again.",
    ),
    "roster-word-unknown": Sentence(
        "{item} has a word that is not known here ({found}).",
        "This line was left out; the others were taken in. Correct it and import the file again.",
    ),
    "roster-number-empty": Sentence(
        "{item} names a number that nobody holds ({found}).",
        "This line was left out; the others were taken in. Check class and number and import the file again.",
    ),
    "school-exists": Sentence(
        "{item} is there already.",
        "Nothing was changed. Use the one that is there, or choose another label or other days.",
        Exit.REFUSED,
        409,
    ),
    "in-use": Sentence(
        "{item} is in use by works.",
        "Nothing was changed. Retire it: works keep it, and it is no longer offered.",
        Exit.REFUSED,
        409,
    ),
    "school-number-taken": Sentence(
        "{item} is held by another child on some of these days, or the child holds a number already.",
        "Nothing was changed. Choose a free number, or end the other one first.",
        Exit.REFUSED,
        409,
    ),
    "school-one-child": Sentence(
        "{item} cannot be one child: both hold a number in one class at the same time, or both made one work.",
        "Nothing was changed. Correct the number or the work first, then join them.",
        Exit.REFUSED,
        409,
    ),
    "index-unready": Sentence(
        "The words of the works are not ready to be searched yet.",
        "Nothing is lost. Use the search in the app that is open, or close it and try again.",
        Exit.LIBRARY,
        503,
    ),
    "index-behind": Sentence(
        "The words that came last cannot be searched yet: the search index could not be brought up to date.",
        "Every work is kept and can be found by grade, class, medium or color. Free some space on the disk of the "
        "library; the next search catches up by itself.",
        Exit.LIBRARY,
        503,
    ),
    # --- words --------------------------------------------------------------------------------------
    "words-columns": Sentence(
        "{item} has no column for: {found}.",
        "Nothing was taken in. Give the columns the headings class, number, date and text, then try again.",
        Exit.USAGE,
        422,
    ),
    "words-line": Sentence(
        "{item} was left out: {found}.",
        "The other lines are taken in. Correct this line and take the list in again; lines kept already are skipped.",
    ),
    "words-nobody": Sentence(
        "{item} was left out: {found}.",
        "The other lines are taken in. Check class, number and date of this line, then take the list in again.",
    ),
    # --- printing -----------------------------------------------------------------------------------
    "letters-not-printable": Sentence(
        "{item} has a letter that none of the fonts here can print ({found}).",
        "Nothing was written. Write it with other letters, then print again.",
        Exit.USAGE,
        422,
    ),
    # --- shows and publishing -------------------------------------------------------------------------
    "name-would-show": Sentence(
        "{item} was not published: a name would have been shown ({found}).",
        "The site that stood there is untouched. Change that text or take the work out, then publish again.",
        Exit.REFUSED,
        409,
    ),
    "site-place-taken": Sentence(
        "{item} holds other files.",
        "Nothing was changed. Give an empty folder, or one with a site built here before.",
        Exit.REFUSED,
        409,
    ),
    "site-audience": Sentence(
        "A show's site is not made for this audience ({found}).",
        "Nothing was changed. Publish for school, community or public; a family's page is its report gallery.",
        Exit.USAGE,
        422,
    ),
    "site-empty": Sentence(
        "{item} has no work that may be shown to these readers.",
        "Nothing was changed. Choose works for the show, or record what families allow, then publish again.",
        Exit.REFUSED,
        409,
    ),
    # --- asking for things --------------------------------------------------------------------------
    "not-found": Sentence(
        "{item} is not in the library.",
        "Nothing was changed. Check the number, the class or the spelling.",
        Exit.NOT_FOUND,
        404,
    ),
    "already-answered": Sentence(
        "{item} was answered before.",
        "The first answer stands. Undo it first if it was wrong.",
        Exit.REFUSED,
        409,
    ),
    "cannot-undo": Sentence(
        "{item} cannot be undone: {found}.",
        "Nothing was changed. Undo the later step first, or change it by hand.",
        Exit.REFUSED,
        409,
    ),
    "upload-too-heavy": Sentence(
        "{item} brought more than may come at once.",
        "Nothing of it was stored, and everything stored before is safe. Send fewer or smaller photos at once.",
        Exit.ITEMS,
        413,
    ),
    "upload-too-many": Sentence(
        "{item} has {found} photos, more than can be added at once.",
        "Nothing was changed. Add the photos of one lesson, then those of the next.",
        Exit.ITEMS,
        413,
    ),
    "upload-gone": Sentence(
        "{item} is not being waited for any more.",
        "What came whole is kept. Choose the photo again; it is sent from its beginning.",
        Exit.NOT_FOUND,
        404,
    ),
    "upload-offset": Sentence(
        "{item} does not go on where it stopped: {found}.",
        "What came before is kept. The page asks how far it came and goes on there.",
        Exit.ITEMS,
        409,
    ),
    "program-mistake": Sentence(
        "Something went wrong in the program itself ({found}).",
        "Everything stored before is safe and nothing is half-filed. Try it once more; if it comes back, start "
        "Portfolio again.",
        Exit.PROGRAM,
        500,
    ),
    # --- signing in ---------------------------------------------------------------------------------
    "set-up-needed": Sentence(
        "{item} has no password yet.",
        "Nothing was changed. Start 'portfolio serve' on this computer and use the set-up code it prints.",
        Exit.REFUSED,
        409,
    ),
    "set-up-done": Sentence(
        "{item} has a password already.",
        "Nothing was changed. Sign in with it, or close Portfolio and run 'portfolio reset-password' on this computer.",
        Exit.REFUSED,
        409,
    ),
    "set-up-code": Sentence(
        "{item} does not fit, was used before, or is older than 30 minutes.",
        "Nothing was changed. Type the code from the console again, or start 'portfolio serve' again for a new one.",
        Exit.REFUSED,
        403,
    ),
    "password-weak": Sentence(
        "{item} would be guessed too easily: {found}.",
        "Nothing was changed. Choose another: three or four words that only you would put together are good.",
        Exit.USAGE,
        422,
    ),
    "password-differs": Sentence(
        "{item} is not the same as the first.",
        "Nothing was changed. Type both again.",
        Exit.USAGE,
        422,
    ),
    "sign-in-wrong": Sentence(
        "{item} does not fit.",
        "Nothing was changed. Type it again, or close Portfolio and run 'portfolio reset-password' on this computer.",
        Exit.REFUSED,
        403,
    ),
    "helper-wrong": Sentence(
        "{item} does not fit.",
        "Nothing was changed. Type both again, or ask the teacher for a new password.",
        Exit.REFUSED,
        403,
    ),
    "helper-known": Sentence(
        "{item} is the name of a helper already.",
        "Nothing was changed. Choose another name, or give that helper a new password.",
        Exit.REFUSED,
        409,
    ),
    "sign-in-wait": Sentence(
        "{item} was not heard, because several before it did not fit; the next is heard in {found}.",
        "Nothing was changed and nobody is locked out. Wait that long, then try again.",
        Exit.REFUSED,
        429,
    ),
    "station-code": Sentence(
        "{item} does not fit, was used before, or is older than 10 minutes.",
        "Nothing was changed. Type it again, or ask the teacher for a new one.",
        Exit.REFUSED,
        403,
    ),
    "sign-in-needed": Sentence(
        "{item} is only shown after signing in.",
        "Nothing was changed. Sign in, then open it again.",
        Exit.REFUSED,
        401,
    ),
    "not-allowed": Sentence(
        "{item} is not open to you.",
        "Nothing was changed. Sign in as the teacher to open it.",
        Exit.REFUSED,
        403,
    ),
    "from-elsewhere": Sentence(
        "{item} came from another website or without its origin.",
        "Nothing was changed. Open Portfolio itself and do it there.",
        Exit.REFUSED,
        403,
    ),
    "only-this-computer": Sentence(
        "{item} would let other devices read names and works without encryption.",
        "Nothing was started. Use 127.0.0.1, the address of this computer itself; a phone sends photos by the code "
        "that 'Use a phone' on Add photos shows.",
        Exit.REFUSED,
        403,
    ),
    "ticket-wrong": Sentence(
        "{item} does not fit.",
        "Nothing was sent. Scan the code on the teacher’s screen again, or type its address letter by letter.",
        Exit.REFUSED,
        403,
    ),
    "ticket-over": Sentence(
        "{item} is over: {found}.",
        "Every photo that came whole is kept. Ask the teacher for a new code to send more.",
        Exit.REFUSED,
        410,
    ),
    "ticket-zip": Sentence(
        "{item} is a zip file, and a phone sends single photos only.",
        "Nothing of it was kept. Choose the photos themselves.",
        Exit.REFUSED,
        422,
    ),
    "photos-only": Sentence(
        "{item} is not open over the Wi-Fi: only photos can be sent here, with a code.",
        "Nothing was shown or changed. Scan the code on the teacher’s screen, or use Portfolio on its own computer.",
        Exit.REFUSED,
        403,
    ),
    "no-network": Sentence(
        "{item} cannot be reached by a phone: it is in no Wi-Fi or network.",
        "Nothing was opened. Connect this computer to the same Wi-Fi as the phone, then try again.",
        Exit.REFUSED,
        409,
    ),
    "port-in-use": Sentence(
        "{item} is taken by another program.",
        "Nothing was started. Give another one with --port.",
        Exit.REFUSED,
        409,
    ),
    "bad-request": Sentence(
        "{item} does not fit: {found}.",
        "Nothing was changed. Correct it and send it again.",
        Exit.USAGE,
        422,
    ),
}

SENTENCES: Final = MappingProxyType(_TABLE)
"""The whole table, read-only: code → :class:`Sentence`."""


def say(code: str, *, item: str = "This", found: str = "") -> str:
    """The full sentence for ``code``: what was found, then what is safe and what to do next."""
    row = SENTENCES[code]
    return f"{row.text.format(item=item, found=found)} {row.remedy}"


def places(error: BaseException) -> tuple[str, ...]:
    """Where in this program a mistake happened ("works.py:71 in title_of"), outermost first. No values, no paths."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = (one for one in frames if "portfolio" in Path(one.filename).parts)
    return tuple(f"{Path(one.filename).name}:{one.lineno} in {one.name}" for one in ours)


@dataclass(frozen=True, slots=True)
class Problem:
    """Trouble with one item; the batch goes on. ``item`` is a file's own name or 'line 12', never a path."""

    code: str
    item: str
    found: str = ""

    def __post_init__(self) -> None:
        if self.code not in SENTENCES:
            raise KeyError(self.code)

    @property
    def sentence(self) -> str:
        """What the teacher reads."""
        return say(self.code, item=self.item, found=self.found)


@dataclass(eq=False)
class PortfolioError(Exception):
    """Work cannot go on. Carries a code of the table; the door turns it into a sentence and a status."""

    code: str
    item: str = "This"
    found: str = ""
    details: dict[str, object] = field(default_factory=dict)

    def __post_init__(self) -> None:
        super().__init__(self.code, self.item, self.found)

    def __str__(self) -> str:
        return self.sentence

    @property
    def sentence(self) -> str:
        """What the teacher reads."""
        return say(self.code, item=self.item, found=self.found)

    @property
    def exit(self) -> Exit:
        """Exit status for the command line."""
        return SENTENCES[self.code].exit

    @property
    def http(self) -> int:
        """HTTP status for the web app."""
        return SENTENCES[self.code].http


class LibraryError(PortfolioError):
    """The library cannot be used: missing, locked, newer or damaged."""


class DiskError(PortfolioError):
    """The disk is full or cannot be written."""


class NotFound(PortfolioError):
    """What was asked for is not there."""


class Refused(PortfolioError):
    """Refused on purpose, with nothing changed."""
