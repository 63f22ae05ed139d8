## Barcodes

parts-another-barcode = Another barcode
parts-another-barcode-hint = scan it
parts-plugs-in-what-bears-it = Plugs in what bears it
parts-plugs-in-what-bears-it-hint = a box's own number of plugs where left open

## Catalogue

parts-words = Words
parts-words-hint = maker, number, description, barcode
parts-thread = Thread
parts-reach = Reach
parts-reach-hint = within 0.3 mm
parts-seat = Seat
parts-heat-from = Heat from
parts-heat-to = Heat to
parts-heat-to-hint = higher is colder
parts-resistor = Resistor
parts-tip-metal = Tip metal
parts-maker = Maker
parts-maker-hint = its whole name
parts-on-the-shelf = On the shelf
parts-retired-ones-too = Retired ones too
parts-no-part-is-like-that = No part is like that.
parts-so-many-parts = { $parts ->
    [one] 1 part.
   *[other] { $parts } parts.
}
parts-first-so-many-parts = The first { $parts } parts.
parts-so-many-parts-more = { $parts } parts more.
parts-parts-of-the-catalogue = Parts of the catalogue
parts-part = Part
parts-heat = Heat
parts-in-bins = In bins

## Change

parts-change-name = Change { $name }
parts-a-new-part = A new part
parts-somebody-changed-part-meanwhile-look = Somebody changed this part meanwhile; look at it again before it goes.

## Compare

parts-another-part = Another part
parts-another-part-hint = part number or barcode
parts-most-four-parts-stand-side = At most four parts stand side by side.
parts-value-assumed = { $value } (assumed)
parts-to-scale-laid-over = { $name } to scale, { $other } laid over it

## Equal

parts-no-other-part-catalogue-passes = No other part of the catalogue passes every must of this one.
parts-others-pass-every-must = { $others ->
    [one] 1 other part passes every must
   *[other] { $others } other parts pass every must
}; { $in_stock } on the shelf.
parts-nobody-has-established-lacks-part = Nobody has established { $lacks } of this part, so nothing can be compared: only what was said is told.

## Lot

parts-set-to-gap = set to { $gap }
parts-size-in-a-box = { $size } in a box
parts-from-supplier = from { $supplier }
parts-where-the-lot-lies = Where the lot lies
parts-place = Place
parts-plugs = Plugs
parts-nothing-is-left-of-it = Nothing is left of it.
parts-happened-lot-family = What happened to the lot and its family
parts-when = When
parts-what = What
parts-nothing-has-happened-to-it = Nothing has happened to it.

## Part

parts-lay-another-part-over-it = Lay another part over it
parts-lay-another-part-over-it-hint = part number or barcode
parts-own-scale-name-laid-over = { $own } to scale, { $name } laid over it
parts-own-scale-dimensions = { $own } to scale, with its dimensions
parts-plugs-plugs = { $plugs } plugs
parts-retired-stands-no-list-no = Retired: it stands in no list and no match, and keeps its history.
parts-maker-no-longer-supplies-lies = Its maker no longer supplies it; what lies here still fits what it fitted.
parts-place-taken-name = Its place was taken by { $name }
parts-the-maker-code-code = the maker's code { $code }
parts-known-where-found-out = What is known, where from, and how it is found out
parts-value = Value
parts-from = From
parts-how-it-is-found-out = How it is found out
parts-lots-part-bins-quarantine = Lots of this part in bins and quarantine
parts-lot = Lot
parts-condition = Condition
parts-came = Came
parts-none-lies-in-a-bin = None lies in a bin.
parts-until-issued-or-released = until issued or released
parts-of-quantity = of { $quantity }
parts-plugs-kept-jobs = Plugs that are kept for jobs
parts-job = Job
parts-kept = Kept
parts-state = State
parts-until = Until
parts-none-kept-job = None is kept for a job.
parts-n-plugs = { $n } plugs
parts-n-days = { $n } days
parts-ordered-from = Ordered from
parts-order-at = Order at
parts-order-up-to = Order up to
parts-service-level = Service level
parts-lead-time = Lead time
parts-its-deviation = Its deviation
parts-plugs-in-a-box = Plugs in a box
parts-why = Why
parts-done-last-part = What was done last with this part
parts-from-where-to-where = From where to where
parts-nothing-has-been-done-yet = Nothing has been done with it yet.

## Place

parts-name = Name
parts-name-hint = what people call it
parts-retired = Retired
parts-retired-hint = nothing more is put into it; what lies there can still be taken out
parts-what-lies-in-name = What lies in { $name }
parts-cost = Cost
parts-nothing-lies-here = Nothing lies here.
parts-plugs-plugs-nobody-knows-they = { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
}; nobody knows what { $plugs ->
    [one] it
   *[other] they
} cost.
parts-plugs-plugs-which-cost-cost = { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
}, which cost { $cost }.
parts-plugs-plugs-cost-cost-without = { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
}: { $known } of them cost { $cost }, and nobody knows what the other { $unknown } cost.
parts-rename-or-retire-name = Rename or retire { $name }

## Record

parts-maker-hint-2 = as printed on the box
parts-part-number = Part number
parts-part-number-hint = as printed; together with the maker there is one record of it
parts-barcode-on-the-box = Barcode on the box
parts-barcode-on-the-box-hint = 8, 12, 13 or 14 digits
parts-description = Description
parts-description-hint = the maker's own words
parts-heat-scale = Heat scale
parts-heat-scale-hint = with the code below it gives the index, where that is left open
parts-heat-code = Heat code
parts-heat-code-hint = the maker's, as printed
parts-status = Status
parts-status-hint = active where left open; what is discontinued still fits
parts-its-place-was-taken-by = Its place was taken by
parts-its-place-was-taken-by-hint = part number or barcode
parts-retired-hint-2 = leaves lists and matches, and keeps its history
parts-thread-and-seat = Thread and seat
parts-firing-end = Firing end
parts-resistor-terminal-heights = Resistor, terminal, heights
parts-fitting-and-box = Fitting and box
parts-label-comes-from = { $label } comes from
parts-the-part = The part
parts-how-it-stands = How it stands
parts-the-maker-sheet = the maker's sheet
parts-measured-in-the-shop = measured in the shop
parts-a-supplier-data = a supplier's data
parts-assumed-every-test-treats-unknown = assumed: every test treats it as unknown

## Reordering

parts-ordered-from-hint = whoever delivered it last where left open
parts-order-at-hint = or fewer; together with the next
parts-service-level-hint = 0.95: of a hundred deliveries the shelf is empty before five
parts-lead-time-hint = days from order to delivery
parts-its-deviation-hint = days
parts-plugs-in-a-box-hint = of the supplier's
parts-reordering-of-name = Reordering of { $name }
parts-left-open-measured-taken-policy = What is left open is measured, or taken from the policy.

## Supplier

parts-lead-time-that-it-promises = Lead time that it promises
parts-lead-time-that-it-promises-hint = counts as long as no order tells
parts-least-order = Least order
parts-least-order-hint = what an order has to come to before it delivers
parts-contact = Contact
parts-contact-hint = whom to call or write to
parts-note = Note
parts-retired-hint-3 = nothing more is ordered from it
parts-no-order-tells-yet = no order tells yet
parts-days-of-one-delivery = { $days } days, of 1 delivery
parts-days-on-average = { $days } days on average of { $deliveries } deliveries, { $longest } at the longest
parts-took = Took
parts-promises = Promises
parts-days-days = { $days } days
parts-its-latest-orders = Its latest orders
parts-order = Order
parts-stands = Stands
parts-expected = Expected
parts-nothing-was-ordered-from-it = Nothing was ordered from it.
parts-parts-came-latest-first = Parts that came from it, the latest first
parts-came-last = Came last
parts-plugs-then = Plugs then
parts-nothing-came-from-it = Nothing came from it.
parts-lots-keep-name-they-came = Lots keep the name that they came with.
parts-assumed = assumed
parts-is-retired = retired
parts-is-discontinued = discontinued
