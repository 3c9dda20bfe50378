"""The memory: tables, originals, history, sidecars. Functions here never commit by themselves; ``flows`` does."""
