## Buying

buying-not-said = not said

## Order

buying-drafted = Drafted
buying-changed = Changed
buying-sent = Sent
buying-withdrawn = Withdrawn
buying-closed = Closed
buying-not-said-of-every-line = not said of every line
buying-part = Part
buying-ordered = Ordered
buying-in = In
buying-missing = Missing
buying-over = Over
buying-cost = Cost
buying-in-a-box = In a box
buying-line = Line
buying-at-the-door = At the door
buying-never-came = never came
buying-change = Change
buying-receive-more = Receive more
buying-receive = Receive
buying-lines-of-code = Lines of { $code }
buying-the-order-has-no-line = The order has no line.
buying-cost-each = { $cost } each
buying-withdraw = Withdraw
buying-note-as-sent = Note as sent
buying-supplier-has-parts-quantities-stand = The supplier has it: parts and quantities stand, and its lead time counts from now.
buying-nobody-asked-anything-stays-list = Nobody is asked for anything; it stays in the list as withdrawn.
buying-you-have-called-off-supplier = You have called it off with the supplier, and nothing has come in.
buying-nobody-waits-rest-any-more = Nobody waits for the rest any more: the { $missing } missing are written down as never come.
buying-close-it-short = Close it short
buying-deliveries-for-code = Deliveries for { $code }
buying-when = When
buying-what = What
buying-plugs = Plugs
buying-lot = Lot
buying-place = Place
buying-by = By
buying-nothing-has-come-in-yet = Nothing has come in yet.
buying-order-changed-while-you-looked = The order was changed while you looked at it, so nothing was done. It stands below as it is now.
buying-nothing-was-done-detail = Nothing was done: { $detail }.
buying-state-of-an-order = state of an order

## Order form

buying-line-of-an-order = line of an order
buying-left-open = left open
buying-look-lines-before-you-add = Look at its lines before you add one.
buying-you-typed-stands-already = What you typed stands there already.
buying-there-stands-now-differs = There stands now: { $differs }.
buying-order-changed-while-you-typed = The order was changed while you typed, so nothing was written. { $now } Send the form again to write yours all the same.

## Order written

buying-supplier = Supplier
buying-supplier-hint = one that is known, or a new one
buying-expected = Expected
buying-their-number = Their number
buying-their-number-hint = the supplier's own number for it
buying-note = Note
buying-part-hint = scan its barcode, or type a part number
buying-plugs-hint = single plugs, not boxes
buying-cost-of-all = Cost of all
buying-plugs-in-a-box = Plugs in a box
buying-draft-an-order = Draft an order
buying-change-code-to-supplier = Change { $code } to { $supplier }
buying-one-more-part-for-code = One more part for { $code }
buying-part-of-code = { $part } of { $code }
buying-draft-the-order = Draft the order
buying-change-the-order = Change the order
buying-add-the-part = Add the part
buying-change-the-line = Change the line

## Orders

buying-all = All
buying-orders-the-newest-first = Orders, the newest first
buying-order = Order
buying-state = State
buying-still-missing = Still missing
buying-there-is-no-such-order = There is no such order.
buying-missing-never-came = { $missing } never came
buying-drafted-sent-to-nobody = drafted, sent to nobody

## Proposal

buying-available-lie-unsold-since-day = { $available } lie unsold since { $day }

## Reorder

buying-from-one-to-most-plugs = from 1 to { $most } plugs, not { $plugs }
buying-tick-parts-ordered = Tick the parts that are to be ordered.
buying-maker-no-longer-supplies = its maker no longer supplies it
buying-another-part-took-its-place = another part took its place
buying-equivalent-lies-unsold-use-up = an equivalent lies unsold: use that up first
buying-nobody-knows-who-supplies-it = nobody knows who supplies it
buying-nothing-more-ordered-supplier = nothing more is ordered from its supplier
buying-its-record-is-retired = its record is retired
buying-nothing-order-any-more = there is nothing to order any more

## Suppliers

buying-suppliers = Suppliers
buying-promises-in = Promises in
buying-delivers-from = Delivers from
buying-contact = Contact
buying-orders = Orders
buying-no-supplier-known-yet-first = No supplier is known yet: the first receipt or order makes one.
buying-retired-nothing-more-ordered = retired: nothing more is ordered from it
buying-orders-to-it = Orders to it
