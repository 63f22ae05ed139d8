## Importing

records-what-the-table-holds = What the table holds
records-file = File
records-file-hint = CSV in UTF-8, cells parted by comma, semicolon or tab
records-or-its-lines = Or its lines
records-or-its-lines-hint = copied from a spreadsheet, the header first
records-plugs = Plugs
records-catalogue-records-met-maker-part = Catalogue records, met by maker and part number. A column that is not there leaves what is stored; an empty cell means unknown.
records-stock = Stock
records-lies-bins-quarantine-each-row = What lies in bins and in quarantine: each row that comes in is a receipt, so that a table that is brought twice is received twice.
records-heat-scales = Heat scales
records-makers-heat-codes-row-maker = Makers' heat codes, one in a row and in the maker's order. A scale in the table takes the place of the stored one with all its codes.
records-who-says-part-stands-met = Who says that which part stands in for which, met by both parts and who says so.
records-columns-title = Columns: { $title }
records-column = Column
records-cells = Cells
records-meaning = Meaning
records-true-or-false = true or false
records-also-as-some = ; also as { $some }
records-min-to-max-unit = { $min } to { $max }{ $unit }
records-either-file-lines-not-both = either a file or lines, not both; choose the file anew
records-choose-file-put-lines-below = choose a file, or put lines in below

## Looked at

records-table-any-more-waits-hour = table any more; it waits an hour. Look at it anew
records-lines-that-were-put-in = Lines that were put in
records-the-file-file = The file { $file }
records-source-looked-at = { $source }, looked at { $at }
records-converted-from-unit = converted from { $unit }
records-columns-that-the-header-names = Columns that the header names
records-in-the-table = In the table
records-understood-as = Understood as
records-no-column-header-understood = No column of the header is understood.
records-rows = Rows
records-new = New
records-changed = Changed
records-as-they-were = As they were
records-same-content-received-brought = The same content was received { $at }, brought by { $by }.
records-row-row-like-lot-code = row { $row } is like lot { $code }
records-lots-like-a-row = { $lots ->
    [one] A lot is like a row of it
   *[other] { $lots } lots are like a row of it
}: { $which }.
records-would-booked-record-record = What would be booked, record by record
records-row = Row
records-record = Record
records-becomes = Becomes
records-differs = Differs
records-nothing-would-change-all-stands = Nothing would change: all of it stands so already.
records-the-whole-row = the whole row
records-faults-of-the-table = Faults of the table
records-found = Found
records-why = Why
records-no-more-faults-are-listed = No more faults are listed.
records-import-yours-within-last-days = import of yours within the last days

## People

records-name = Name
records-name-hint = of a person, a till or a program; it stands in what they book
records-role = Role
records-role-hint = each holds those before it; see below
records-tokens-that-are-good = Tokens that are good
records-made = Made

## Policy

records-words = Words
records-words-hint = of a name or a sentence
records-rests-on = Rests on
records-values-changed-version-version-force = { $values ->
    [one] 1 value
   *[other] { $values } values
} changed; version { $version } is in force.
records-value = Value

## Policy fields

records-min-to-max = { $min } to { $max }
records-three-capital-letters-iso-4217 = three capital letters of ISO 4217
records-name-iana-database-pacific-auckland = a name of the IANA database, as Pacific/Auckland
records-name-rests-on = { $name } rests on
records-name-in-a-sentence = { $name } in a sentence

## Policy form

records-group-of-the-policy = group of the policy
records-form-came-without-version-policy = The form came without the version of the policy that it was made of, so nothing was changed; open it anew.
records-nothing-differs-force = Nothing differs from what is in force.
records-somebody-changed-policy-while-form = Somebody changed the policy while this form lay open, so nothing was changed. Below stand your values where you changed any, and what is in force elsewhere; send it again if it is still meant.
records-values-that-differ = Values that differ
records-was = Was

## Roles


## Stand ins

records-maker-of-either-part = Maker of either part
records-part-number-of-either = Part number of either
records-who-says-so = Who says so
records-maker-of-the-part = Maker of the part
records-its-part-number = Its part number
records-its-part-number-hint = of the part that can be taken
records-stands-in-for-maker = Stands in for: maker
records-stands-in-for-part-number = Stands in for: part number
records-stands-in-for-part-number-hint = of the part that was asked for
records-which-way-it-holds = Which way it holds
records-which-way-it-holds-hint = both: each may be taken for the other; one way says nothing of the way back
records-who-says-so-hint = a maker, a colleague: statements are signed
records-where-it-was-said = Where it was said
records-where-it-was-said-hint = a sheet, a letter, a bench
records-else-known = What else is to be known
records-one-way = one way
records-both-ways = both ways
records-statements-part-stands-another = Statements that one part stands in for another
records-this = This
records-stands-in-for = stands in for
records-by-the-word-of = by the word of
records-entered = Entered
records-no-such-statement = No such statement.

## Statement

records-the-attributes-agree = The attributes agree.
records-statements-say-stands-name = What statements say stands in for { $name }
records-part = Part
records-attributes = Attributes
records-by-way-of = By way of
records-no-statement-leads-another-part = No statement leads to another part of the catalogue.
records-unknown-part-asked-not-catalogue = Unknown: the part that was asked for is not in the catalogue, or lacks what it is compared by.
records-unknown-catalogue-lacks-part-statements = Unknown: the catalogue lacks this part, so only the statements tell.
records-part-word-said = { $part }, by the word of { $said }
records-from-there = ; from there{" "}
records-so-many-values = { $values ->
    [one] 1 value
   *[other] { $values } values
}
records-so-many-rows = { $rows ->
    [one] 1 row
   *[other] { $rows } rows
}
records-more-lots-like-a-row = { $lots ->
    [one] A lot is like a row of it
   *[other] { $lots } lots are like a row of it
}: { $which } and more.
records-needed = needed
records-is-new = new
records-changes = changes
records-stays = stays
records-yours = yours

## Webhooks

records-url = URL
records-url-hint = https; where deliveries go by POST
records-what-it-is-for = What it is for
records-told-of = Told of
records-told-of-hint = Nothing ticked: of everything, also of kinds of events that come later.
records-on = on
records-off = off
records-switched-off-by-a-manager = a manager has switched it off
records-everything = everything
records-so-many-kinds = { $kinds } kinds of events
records-who-is-told = Who is told of events
records-sending = Sending
records-waiting = Waiting
records-dead = Dead
records-nobody-is-told = Nobody is told of events yet.
records-it-is-told-again = It is told again, from where it stopped.
records-it-is-told-nothing-more = It is told nothing more until it is switched on again.
records-the-secret-is-retired = The secret is retired: nothing is signed with it any more.
records-change-the-webhook = Change the webhook
records-what-waits-goes-there = What waits already goes to the URL as it will be.
records-secret-of-this-webhook = secret of this webhook
records-delivery-of-this-webhook = delivery of this webhook
records-on-or-off = say whether it is to be on or off

## Deliveries

records-state = State
records-deliveries-the-newest-first = Deliveries, the newest first
records-event = Event
records-made-out = Made out
records-attempts = Attempts
records-last-answer = Last answer
records-next-attempt = Next attempt
records-nothing-has-been-told = Nothing has happened yet that it is told of.
records-no-delivery-stands-so = No delivery stands so.
records-can-be-sent-again = can be sent again
records-answered-with = answered with { $status }
records-once-it-is-on-again = once it is on again
records-what-came-of-each-attempt = What came of each attempt
records-attempt = Attempt
records-begun = Begun
records-answer = Answer
records-took-ms = Took, ms
records-it-has-not-been-tried = It has not been tried yet.
records-send-it-again = Send it again
records-send-it-once-more = Send it once more
