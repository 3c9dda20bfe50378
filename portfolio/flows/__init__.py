"""The order of work. Opens the transactions; never measures a pixel and never writes SQL."""
