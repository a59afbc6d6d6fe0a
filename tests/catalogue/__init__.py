"""Is a broken price list told apart from a sound one."""
