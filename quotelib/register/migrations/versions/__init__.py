"""One file a step; none is ever changed once somebody may have a register that it has seen."""
