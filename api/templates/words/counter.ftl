## Acts

counter-scan-type-called = scan it, or type what it is called
counter-name-code-label = name, or code on its label
counter-plugs = Plugs
counter-plugs-hint = single plugs, or else boxes and plugs in a box
counter-boxes = Boxes
counter-plugs-in-a-box = Plugs in a box
counter-into-bin = Into bin
counter-for-an-order = For an order
counter-for-an-order-hint = its supplier and its price count
counter-supplier = Supplier
counter-cost-of-all = Cost of all
counter-condition = Condition
counter-condition-hint = sealed: the plugs' own boxes are unopened
counter-gap-they-set = Gap that they are set to
counter-gap-they-set-hint = only where gapped
counter-delivery-note = Delivery note
counter-job = Job
counter-job-hint = may be left open with a reservation
counter-from-a-reservation = From a reservation
counter-gap-that-is-set = Gap that is set
counter-gap-that-is-set-hint = lots that have it already count too
counter-only-of-lot = Only of lot
counter-only-of-lot-hint = fewest lots, then oldest, where left open
counter-only-from-bin = Only from bin
counter-for-build = For build
counter-odometer = Odometer
counter-from-job = From job
counter-which-issue = Which issue
counter-which-issue-hint = scan the part or the lot's label to choose it
counter-nothing-can-come-back = nothing can come back from this job: of what went there nothing is out
counter-how-they-look = How they look
counter-how-they-look-hint = only sealed and gapped plugs go back on the shelf
counter-gap-they-set-hint-2 = only where gapped; that of the issue where left open
counter-back-into-bin = Back into bin
counter-back-into-bin-hint = left open for what goes to scrap
counter-dropped-by = Dropped by
counter-dropped-by-hint = only where they fell, and only if you want to say
counter-lot = Lot
counter-lot-hint = the code on its label
counter-from = From
counter-to = To
counter-only-of-lot-hint-2 = the oldest where left open
counter-from-bin = From bin
counter-from-bin-hint = name, or code on its label; or else a job
counter-from-job-hint = where they were issued to
counter-reason = Reason
counter-what-happened = What happened
counter-kept-until-the-end-of = Kept until the end of
counter-kept-until-the-end-of-hint = as long as the policy says where left open
counter-receive-plugs = Receive plugs
counter-receive = Receive
counter-part-order-supplier-bin-number = a part, an order, a supplier, a bin or a number of plugs
counter-issue-plugs-to-a-job = Issue plugs to a job
counter-issue = Issue
counter-part-lot-job-bin-number = a part, a lot, a job, a bin or a number of plugs
counter-take-plugs-back-job = Take plugs back from a job
counter-take-back = Take back
counter-job-then-part-lot-looks = a job, then a part or lot of it, how it looks, a bin or a number of plugs
counter-move-plugs = Move plugs
counter-move = Move
counter-lot-part-bin-bin-goes = a lot or a part, the bin it is in, the bin it goes to, or a number of plugs
counter-scrap-plugs = Scrap plugs
counter-scrap-for-good = Scrap for good
counter-part-lot-bin-job-reason = a part, a lot, a bin, a job, a reason or a number of plugs
counter-reserve-plugs-for-a-job = Reserve plugs for a job
counter-reserve = Reserve
counter-part-job-number-plugs = a part, a job or a number of plugs
counter-part = Part
counter-part-hint = scan its barcode, or type a part number or words
counter-many-boxes-all-plugs-not = in so many boxes are { $all } plugs, not { $plugs }; leave one open

## Barcodes

counter-barcode = Barcode
counter-barcode-hint = as the scanner reads it
counter-part-hint-2 = part number, with or without its maker
counter-plugs-box-carton-bears = Plugs in the box or carton that bears it
counter-plugs-box-carton-bears-hint = the pack size of the record where left open

## Booked

counter-received = Received
counter-issued = Issued
counter-returned = Returned
counter-moved = Moved
counter-scrapped-for-good = Scrapped for good
counter-reversed = Reversed
counter-counted = Counted
counter-gap-set-gap = Gap set: { $gap }.
counter-reason-reason = Reason: { $reason }.
counter-note-note = Note: { $note }
counter-scrap-stays-scrap-slip-scanner = What is scrap stays scrap; a slip of the scanner can be reversed by a manager until { $until }.
counter-lot-waits-quarantine-manager-decision = Its lot waits in quarantine for a manager's decision, so that { $quantity } went on to { $name }.
counter-all-of-it-is-in = all of it is in.
counter-more-came-than-ordered = { $more ->
    [one] 1 more came in than was ordered.
   *[other] { $more } more came in than were ordered.
}
counter-missing-are-still-to-come = { $missing ->
    [one] 1 is still to come.
   *[other] { $missing } are still to come.
}
counter-order-code-quantity-ordered-received = Order { $code }: { $quantity } ordered, { $received } in; { $stands }
counter-back-to-the-match = Back to the match
counter-receive-more = Receive more
counter-print-the-lot-label = Print the lot's label
counter-check-a-sample = Check a sample
counter-issue-more = Issue more
counter-scrap-more = Scrap more
counter-take-more-back = Take more back
counter-move-more = Move more
counter-the-job = The job
counter-find-plugs = Find plugs

## Counting

counter-had-been-booked-already-nothing = That had been booked already; nothing was booked a second time.
counter-code-number-taken-back = { $code }: the number was taken back.
counter-code-plugs-counted = { $code }: { $plugs } counted.
counter-count-it-once-more = count it once more
counter-not-on-the-sheet = not on the sheet
counter-name-lot-of-part = { $name }: { $lot } of { $part }
counter-name-lot-of-part-off-sheet = { $name }: { $lot } of { $part }, which is not on the sheet
counter-to-be-counted-again = to be counted again
counter-what-does-not-agree = What does not agree
counter-bin = Bin
counter-in-the-books = In the books
counter-difference = Difference
counter-cost = Cost
counter-every-line-agrees-books = Every line agrees with the books.
counter-sum-and-unknown-cost = { $quantity ->
    [one] 1 plug
   *[other] { $quantity } plugs
}, { $cost }, and { $unknown } of unknown cost
counter-sum = { $quantity ->
    [one] 1 plug
   *[other] { $quantity } plugs
}, { $cost }
counter-lines-differ-so-much = { $lines ->
    [one] 1 lot differs so much that it is
   *[other] { $lines } lots differ so much that they are
} to be counted once more.
counter-more-than-lot-ever-had = more than the { $received } that the lot ever had
counter-lines-that-agree = Lines that agree
counter-exact-lines-of-lines = { $exact_lines } of { $lines }
counter-missing = Missing
counter-found = Found

## Ending

counter-count-has-changed-since-page = The count has changed since this page was shown, and nothing was done: here it stands as it is now.

## Entry

counter-text-scan-bin-label-lot = { $text } of what? Scan the bin's label and the lot's label first.
counter-text-no-label-bin-lot = { $text } is no label of bin or lot.
counter-name-none-count-bins = { $name } is none of this count's bins.
counter-text-nothing-counted-here-scan = { $text } is nothing that is counted here. Scan a bin, then a lot, then type how many there are.
counter-text-stands-more-line-scan = { $text } stands for more than one line: scan the bin's label, or the lot's.
counter-no-lot-here-bears-code = No lot here bears that code; it stands on its label, an L and a number.
counter-why-count-plugs-write-0 = { $why }: count the plugs, and write 0 where none is there.

## Counts

counter-bins = Bins
counter-bins-hint = scan their labels, or write names or codes, each on a line of its own
counter-or-let-them-be-chosen = Or let them be chosen
counter-or-let-them-be-chosen-hint = of those that hold something and are not being counted
counter-how-many = How many
counter-counted-waits-for-approval = counted, waits for approval
counter-lines-to-be-counted-again = { $lines } to be counted again
counter-counted-lines-of-line-count = { $counted_lines } of { $line_count }
counter-counts-the-newest-first = Counts, the newest first
counter-state = State
counter-lines-counted = Lines counted
counter-begun = Begun
counter-nothing-has-been-counted-yet = Nothing has been counted yet.
counter-bins-word = Bins: { $word }.
counter-text-bins = { $text } bins.
counter-text-no-bin-scan-label = { $text } is no bin. Scan the label of a bin, or write what it is called.
counter-name-stands-there-already = { $name } stands there already.
counter-bin-name = Bin { $name }.

## Form of

counter-no-part-known = no part is known by that
counter-look-whether-part-you-mean = Look whether this is the part that you mean, and send the form again.
counter-several-parts-meant-choose = several parts are meant; choose one
counter-a-build-without-a-name = a build without a name
counter-of-lot = of lot
counter-dropped-plug-scrap-even-if = A dropped plug is scrap even if nothing can be seen: the insulator may be cracked inside. Nothing comes back out of the drum.
counter-plugs-look-go-into-scrap = Plugs that look so go into the scrap drum, for good: none of them comes back on the shelf.
counter-fitted-handled-dropped-goes-into = What was fitted, handled or dropped goes into the scrap drum, for good; only sealed plugs, and gapped ones that were looked at, go back on the shelf.

## Given

counter-proposed-why = proposed: { $why }
counter-job-open-quantity-kept = { $job }: { $open_quantity } kept
counter-order-code-supplier-missing-come = { $order_code } from { $supplier }: { $missing ->
    [0] all of it is in
   *[other] { $missing } to come
}
counter-left-of-lot-issued-at = { $left } × { $name } of { $lot }, issued { $at }

## Incoming

counter-plugs-that-were-taken-out = Plugs that were taken out
counter-resistance = Resistance
counter-resistance-hint = from terminal to centre electrode; a number for each plug, with blanks between
counter-gap-as-delivered = Gap as delivered
counter-gap-as-delivered-hint = a number for each plug; 0.032 in; 0.8 with semicolons where units are typed
counter-reach = Reach
counter-reach-hint = from the seat to the end of the thread
counter-what-else-was-seen = What else was seen
counter-incoming-check = incoming check
counter-nothing-contradicts-the-record = Nothing contradicts the record
counter-the-lot-is-in-quarantine = The lot is in quarantine
counter-a-reading-contradicts-the-record = A reading contradicts the record
counter-released-from-quarantine = Released from quarantine
counter-scrapped-out-of-quarantine = Scrapped out of quarantine
counter-sent-back-to-its-supplier = Sent back to its supplier

## Jobs

counter-plugs-kept-jobs = Plugs that are kept for jobs
counter-kept = Kept
counter-until = Until
counter-nothing-kept-any-job = Nothing is kept for any job.
counter-issued-or-released = issued or released
counter-plugs-kept-job = The plugs are kept for this job.
counter-they-had-been-reserved-already = They had been reserved already. Nothing was reserved a second time.
counter-kept-given-back = What was kept was given back.
counter-went-name-came-back-scrapped = What went to { $name }, came back or was scrapped
counter-nothing-issued-job = Nothing was issued to this job.

## Labels

counter-lots-and-bins = Lots and bins
counter-lots-and-bins-hint = scan them, or write codes or names, each on a line of its own
counter-paper = Paper
counter-paper-hint = a roll of labels in millimetres, or a sheet with 27 of them
counter-dots-inch-printer = Dots to the inch of the printer
counter-dots-inch-printer-hint = so that every bar is a whole number of dots
counter-scan-no-lot-no-bin = { $scan } is no lot and no bin. Scan a label, or write a code or a bin's name.
counter-line-no-lot-no-bin = { $line } is no lot and no bin
counter-most-labels-labels-once-not = at most { $labels } labels at once, not { $parts }
counter-do-it = Do it
counter-presses-the-form-button = presses the form's button
counter-count-bins = Count bins
counter-how-plugs-look = how plugs look
counter-why-they-are-scrapped = why they are scrapped
counter-so-many-plugs = so many plugs

## Movement

counter-what-was-wrong-with-it = What was wrong with it
counter-what-was-wrong-with-it-hint = stands in the books for good
counter-it-has-been-put-right = It has been put right.
counter-reversal-stands-book-right-anew = A reversal stands; book what is right anew.
counter-scrap-stays-scrap-slip-could = What is scrap stays scrap: a slip could be reversed until { $until }.
counter-slip-scanner-can-reversed-manager = A slip of the scanner can be reversed by a manager until { $until }.
counter-count-booked-reversed-manager = What a count booked is reversed by a manager.
counter-clerk-can-put-right = A clerk can put it right.
counter-note = Note
counter-gap-set = Gap set
counter-done-by = Done by
counter-for = For
counter-the-build = the build
counter-answers = Answers
counter-the-issue = the issue
counter-puts-right = Puts right
counter-this-movement = this movement
counter-put-right-by = Put right by
counter-this-reversal = this reversal

## Movements

counter-part-hint-3 = number or barcode
counter-place = Place
counter-place-hint = from there or to there
counter-done-by-hint = as they are called here
counter-what = What
counter-to-hint = with that day
counter-nothing-listed-until-wrong-above = Nothing is listed until what is wrong above is put right.
counter-lies-before-day-list-begins = lies before the day that the list begins with
counter-movements-the-newest-first = Movements, the newest first
counter-no-movement-is-so = No movement is so.
counter-from-to = From, to
counter-scrapped = Scrapped
counter-put-right-since = put right since
counter-from-became-lot = { $from } → became lot { $code }
counter-became-set-to-gap = { $became }, set to { $gap }
counter-before-of-lot-to = before of lot { $code } → { $to }
counter-latest-on-paper = The latest { $movements } of them; all stand in the file.
counter-when = When

## Quarantine

counter-what-becomes-of-it = What becomes of it
counter-what-becomes-of-it-hint = scrap is for good; what is sent back is taken off the stock and its order
counter-into-bin-hint = only for what is released
counter-why = Why
counter-lots-wait-manager-decision = Lots that wait for a manager's decision
counter-checked = Checked
counter-there-since = There since
counter-scrap = Scrap
counter-move-code = Move { $code }
counter-scrap-code = Scrap { $code }
counter-lots-in-quarantine-besides = Lots in quarantine that wait for no decision
counter-nothing-lies-there-besides = Nothing lies there besides.
counter-nothing-waits-for-a-decision = Nothing waits for a decision.
counter-by-what-it-at-why = { $by } { $what } it, { $at }{ $why }.

## Doubt

counter-new-supplier = No supplier here is called { $name }: this makes a new one. Put the name right where another is meant.
counter-new-supplier-or-near = No supplier here is called { $name }: this makes a new one. Spelled nearly so: { $near }. Put the name right where another is meant.
counter-supplier-is-new = { $name } is new among the suppliers.
counter-still-kept-for-job = { $plugs ->
    [one] 1 more plug of it is
   *[other] { $plugs } more plugs of it are
} kept for { $job }: release on the job's page what it does not need.

## Taking

counter-0-no-number-plugs-book = 0 is no number of plugs to book.
counter-lot-code-of-name = Lot { $code } of { $name }.
counter-comes-makes-new-lot = What comes in makes a new lot.
counter-name-by-label-of-lot = { $name }, by the label of lot { $code }.
counter-name-plugs-more-all = { $name }, { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
} more: { $all }.
counter-scan-job-first-plugs-come = Scan the job first: plugs come back by the issue that they went out with.
counter-nothing-name-went-job-can = Nothing of { $name } that went to { $job } can come back any more.
counter-name-up-to-plugs-come-back = { $name }: up to { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
} can come back.
counter-name-went-job-several-times = { $name } went to { $job } { $several } times: scan the lot's label, or choose the issue.
counter-text-kinds-has-no-place = { $text } is a { $kinds }, which has no place in this form; it takes { $takes }.
counter-text-order-orders-come-under = { $text } is an order; orders come in under Receive.
counter-order-code-supplier-missing-come-2 = Order { $code } from { $supplier }: { $missing ->
    [0] all of it is in, and what comes is more than was ordered.
   *[other] { $missing } to come.
}
counter-order-code-supplier-scan-came = Order { $code } from { $supplier }. Scan what came of it.
counter-order-code-has-no-line = Order { $code } has no line for this part.
counter-new-job-text = New job { $text }.
counter-attach-part-catalogue = Attach it to a part of the catalogue
counter-make-record-new-part = Make a record of a new part
counter-supplier-barcode-attach-part = It is a supplier's barcode: attach it to a part
counter-text-names-nothing-here-form = { $text } names nothing here. This form takes { $takes }.
counter-text-no-part-certain-choose = { $text } is no part for certain; choose one.
counter-text-no-part-certain-near = { $text } is no part for certain; near to it: { $names }.
counter-from-it = from
counter-to-it = to
counter-for-it = for
counter-into-it = into
counter-and-a = {" and a "}
