"""A drive array, operation by operation: a second opinion beside the formulas for speed.

It starts from what the parts do (a platter that turns, an arm that moves, lanes that carry one
block at a time) and shares no code and no equation with `quotelib.estimate`.
"""

from tests.estimate.opinions.array.parts import Array as Array
from tests.estimate.opinions.array.parts import Cache as Cache
from tests.estimate.opinions.array.parts import Disk as Disk
from tests.estimate.opinions.array.parts import Flash as Flash
from tests.estimate.opinions.array.parts import Load as Load
from tests.estimate.opinions.array.parts import Measured as Measured
from tests.estimate.opinions.array.parts import Path as Path
from tests.estimate.opinions.array.rebuilding import rebuild_hours as rebuild_hours
from tests.estimate.opinions.array.running import simulate as simulate
