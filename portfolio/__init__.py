"""Portfolio: the map.

A photo travels down this road. Each word is a folder (a *room*); one line a room: takes · gives · never does.

==============  ======================================================================================================
``cli``         door: the command line · takes words, gives sentences or JSON · never decides
``web``         door: the local web app and JSON API · takes requests, gives pages · never opens the database itself
``demo``        an invented school: paints works, photographs them, walks the whole road · never holds a rule of its own
``flows``       the order of work · opens the transactions · never measures a pixel and never writes SQL
``roster``      0 who is in which class · takes rosters and calendars, gives numbers, days · never keeps contact data
``intake``      1 find the photos · takes paths and zips, gives files in the order taken · never opens a picture
``reading``     2 what does the picture say? · takes one photo, gives cards, clock and patches · never guesses
``straighten``  3 upright, flat, cropped, true color · takes a photo, gives pictures · never changes the original
``filing``      4 whose is it? · takes what was seen in a batch, gives decisions and questions · never files on a doubt
``search``      5 find it again · takes words, gives ids · never holds a name, never is the only copy of anything
``growth``      6a a child's years · takes works, gives timelines, pairs and grids · never ranks
``shows``       6b choose fairly · takes works that may be shown, gives a choice with reasons · never sees a name
``publish``     7 pages for an audience · takes finished labels, gives a staged site · never sees a child's record
``archive``     the memory: tables, originals, history, sidecars · never commits by itself
``privacy``     who may see which form of a name; the sweep · the only room that opens a sealed name
``cards``       the printed cards · one geometry for printer and reader
``model``       the nouns: frozen values · no input, no output
``errors``      codes, sentences, remedies
==============  ======================================================================================================
"""

__version__ = "0.1.0"
