"""What will it do: numbers only. Nothing here knows a part or the name of a RAID level.

`performance`: how fast; `reliability`: how safe; `running`: what it takes to run. Beside them what
all three count with: `shape` (members, spans, parity, copies), `capacity` (bytes), `checks`, and
`estimate`, one figure with its range and basis.
"""
