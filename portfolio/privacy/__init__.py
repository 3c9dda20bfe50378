"""Who may see which form of a name; the sweep that proves it. The only room that opens a sealed name.

``seal`` seals · ``releases`` what a family allowed · ``forms`` how a maker is called, every form that must be found ·
``matching`` what an audience may not see · ``sweep`` every byte of an output · ``words`` names in children's words.
"""
