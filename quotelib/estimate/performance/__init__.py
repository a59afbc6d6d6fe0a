"""How fast is it: operations and bytes a second, and how long one operation takes."""
