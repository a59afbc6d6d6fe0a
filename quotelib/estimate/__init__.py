"""What will it do: numbers only. Nothing here knows a part or the name of a RAID level.

`performance`: how fast; `reliability`: how safe; `running`: what it takes to run. Beside them what
all three count with: `shape` (members, spans, parity, copies), `capacity` (bytes), `checks`.

What holds for every function is said here once. Numbers may be arrays of any shapes that broadcast
together; results are arrays of the common shape unless another is stated. NaN is "not known" and
makes what depends on it NaN. A number outside the limits stated for it, or shapes that do not go
together, raise a ValueError with the name, the position and what would be right. Bytes are counted
in 1, MB in 10^6, GB in 10^9 and TB in 10^12 of them.
"""
