## Kinds

reports-from = From
reports-from-hint = the beginning, where left open
reports-to = To
reports-to-hint = that day is still within it
reports-scrap = Scrap
reports-thrown-away-why-had-cost = What was thrown away, why, and what it had cost.
reports-summed-up-by = Summed up by
reports-summed-up-by-hint = the reason, where left open
reports-value-of-the-stock = Value of the stock
reports-bins-quarantine-worth-moment-period = What bins and quarantine are worth, at a moment, or what a period did to it.
reports-as-of = As of
reports-as-of-hint = at the end of that day
reports-or-from = Or from
reports-or-from-hint = what a period did
reports-valued-by = Valued by
reports-valued-by-hint = FIFO, where left open
reports-usage = Usage
reports-went-out-did-not-come = What went out and did not come back.
reports-summed-up-by-hint-2 = the month, where left open
reports-dead-stock = Dead stock
reports-nobody-has-taken-long-time = What nobody has taken for a long time, and what does the same and sells.
reports-days-without-an-issue = Days without an issue
reports-days-without-an-issue-hint = as the policy has it, where left open
reports-out-of-stock = Out of stock
reports-parts-shelf-had-run-out = Which parts the shelf had run out of, and for how long.
reports-turns = Turns
reports-often-stock-turned-over = How often the stock turned over.
reports-count-accuracy = Count accuracy
reports-well-books-bins-agreed-when = How well books and bins agreed when somebody counted.
reports-the-life-of-a-lot = The life of a lot
reports-where-every-plug-lot-has = Where every plug of a lot has been, from the supplier to an engine or the drum.
reports-lot = Lot
reports-lot-hint = the code on its label: L and a number
reports-at-the-end = at the end
reports-all-back-since = all back since
reports-parts-still-out = { $parts ->
    [one] 1 part
   *[other] { $parts } parts
} still out
reports-days-of-stock = { $days } days of stock
reports-times = { $times } times
reports-nothing-lay-there = nothing lay there
reports-nothing-counted = nothing counted
reports-lines-without-a-difference = { $exact_lines ->
    [one] 1 line
   *[other] { $exact_lines } lines
} without a difference
reports-no-lot-has-that-code = no lot has that code

## Reports

reports-all-sums-are-in-currency = All sums are in { $currency }.
reports-picture-of-this-report = picture of this report

## Tables

reports-nothing-report-time = There is nothing to report of this time.
reports-plugs-issued = { $plugs ->
    [one] 1 plug issued
   *[other] { $plugs } plugs issued
}
