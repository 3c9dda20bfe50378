"""Makers, slow honest checkers and the few stand-ins that tests share."""
