"""Looking at the app as a teacher sees it: behind ``scripts/screens.py``."""
