"""Answers whether a second reading of the data contract comes to the same quotes.

A plain, slow program written from the data contract alone. It shares no code with the
package and never imports it: where both agree on a price list neither has seen before,
the agreement means something. It leaves out what the estimates decide (the finding
``loss_over_limit`` and the demands ``host_iops``, ``host_mb_s`` and ``max_loss_pct``).
"""
