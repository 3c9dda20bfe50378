"""The photo simulator: works and cards on a table, photographed, with the exact truth of where everything lies.

``scene`` what lies on the table · ``arrange`` puts it there · ``conditions`` how the photo is taken · ``pose`` the
camera's geometry · ``table`` ``layers`` ``light`` make the picture in linear light · ``sensor`` makes it a file ·
``shot`` does it all and keeps the truth · ``drawings`` simple works · ``mix`` photos as a school makes them.

What it does not have, so real photos are harder: local tone mapping and sharpening of phones, glossy reflections,
curled cards, crumpled sheets, mixed light of two colors.
"""
