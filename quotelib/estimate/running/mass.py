"""How heavy may it be before one person should not lift it alone."""

LIFTING_CONSTANT_KG = 23.0
"""Most for one person in an ideal posture: less away from the body, low, high or often.

Source: Waters, Putz-Anderson, Garg, Applications Manual for the Revised NIOSH Lifting Equation,
DHHS (NIOSH) 94-110, 1994: load constant 23 kg (51 lb). Lifting limits differ by country: local
rules come first.
"""
