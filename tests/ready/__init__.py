"""When can it leave."""
