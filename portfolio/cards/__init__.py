"""The printed cards: one geometry for the printer and the reader.

``geometry`` says where everything lies and which tag means what; ``draw`` makes a picture of one card; ``sheets``
makes the pages to print.
"""
