"""Who may see which form of a name; the sweep that proves it. The only room that opens a sealed name."""
