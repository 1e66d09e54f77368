"""How long tests wait for what is sure to come: a busy machine may be many times as slow."""

PATIENCE_MS = 120_000
