"""How safe are the data: how long a rebuild takes, and how likely a loss is over years."""
