"""How long a test waits for what must come.  A busy machine is no defect: only waiting in vain fails."""

PATIENCE_S = 60.0
PATIENCE_MS = round(1000 * PATIENCE_S)
