"""The photo simulator: works and cards on a table, photographed, with the exact truth of where everything lies.

``scene`` what lies on the table · ``arrange`` puts it there · ``conditions`` how the photo is taken · ``pose`` the
camera's geometry · ``table`` ``layers`` ``light`` make the picture in linear light · ``sensor`` makes it a file ·
``phone`` what phones do to it · ``phone_things`` worn cards and crumpled sheets · ``shot`` does it all and keeps the
truth · ``drawings`` simple works · ``mix`` photos as a school makes them.

What it does not have, so real photos are harder: true lens bokeh, wet paint, hands, mixed light of two colors.
"""
