"""Answers whether a second reading of the data contract comes to the same quotes.

A plain, slow program written from the data contract alone. It shares no code with the
package and never imports it: where both agree on a price list neither has seen before,
the agreement means something. It leaves out what the estimates decide (the finding
``loss_over_limit`` and the demands ``host_iops``, ``host_mb_s``, ``max_loss_pct`` and
``max_response_ms``), and advice that terms have to ask for.

Where the text can be read in two ways, this is how it is read here:

* A row belongs to the server of the name in its cell, blank being a name, too, if any row of
  that name asks for an array or for chassis and options. Other rows have no server.
* "Two rows with the same id and both blank server and array" are wrong where both ask for an
  array. Rows of an id that turns up again are each wrong by themselves.
* "Equal in meaning": as read, defaults filled in.
* A piece that arrays share is the customer's where any of their rows says so. A refurbished
  controller or drive comes in array by array, where the row of that array lets it.
* An accessory that a bought drive brings in counts over the bought drives that name it, any
  other over all drives of the server, those on other controllers too. It is ``with`` a part
  where any of those named is in the build, whoever's it is. ``interfaces`` leaves out other
  drives, and an accessory ``per`` build for which no drive is left.
* An adapter counts over the drives that are put in: of an array that stays, only those bought.
  Nothing asks for one where drives are kept. Drives that stay are in the build, as the kind they
  are: they draw, weigh, take lanes, and an accessory may be ``with`` them.
* `have_drives` is at most members and spares where `members` is given; of an array with open
  members no more count than it has. What is below the level's minimum is ``cannot_grow``.
* ``cannot_replace`` where all members stay: a spare that is bought takes no member's place.
* A service that is always done once a quote and names no action is done for any quote.
* A module protects the cache of the controllers of ours that name it, no other.
* The lanes of an option card are those of its connector. `needs_processors` of a slot counts
  for cards, not for what is free.
* Where there are no processors and no cores asked for, memory comes in any number.
* A free line needs a price, its cost is in the currency of the quote and has no more decimals
  either.
* The rows of a held quote name together what needs a yes; the rows of a refused server what
  stops it; `action` stands on the rows of arrays; `currency` and `tax_code` may be repeated.
"""
