"""When can it leave: what is in stock, bench minutes, unattended hours, working days."""
