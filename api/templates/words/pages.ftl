## Answer

pages-seconds = { $seconds ->
    [one] 1 second
   *[other] { $seconds } seconds
}
pages-minutes = { $minutes ->
    [one] 1 minute
   *[other] { $minutes } minutes
}
pages-hours = { $hours ->
    [one] 1 hour
   *[other] { $hours } hours
}
pages-not-with-this-role = Not with this role
pages-not-there = Not there
pages-there-is-no-such-what = There is no such { $what }.
pages-not-understood = Not understood
pages-not-now = Not now
pages-somebody-changed-meanwhile-nothing-done = Somebody changed this meanwhile, so nothing was done: open the page anew.
pages-changed-meanwhile = Changed meanwhile
pages-form-sent-before-other-values = This form was sent before, with other values, and was done then. Nothing was done now: open a new form.
pages-done-already = Done already
pages-database-cannot-reached-just-now = The database cannot be reached just now; try again in a moment.
pages-not-just-now = Not just now
pages-something-went-wrong-inside-log = Something went wrong inside. The log says what, under { $request }.
pages-our-own-fault = Our own fault

## Changing

pages-somebody-changed-meanwhile-you-typed = Somebody changed this meanwhile. What you typed still stands here; look at the fields that are marked and send the form again.
pages-something-else = something else
pages-the-record-says-words-now = the record says { $words } now

## Field

pages-has-to-be-filled-in = has to be filled in
pages-choose-stored-head-describe-below = choose a stored head, or describe it below
pages-give-bin-or-job = say the bin or the job that they come from
pages-bin-or-job-not-both = say the bin or the job that they come from, not both
pages-say-what-is-seen = say what is seen: the heat line, the base ring, the porcelain, speckles, or both gaps
pages-either-stored-head-described-below = either a stored head, or one that is described below
pages-give-heat-index-came-plug = give the heat index it came with, or the plug that was in

## Figures

pages-as-the-engine-came = as the engine came
pages-steps-colder-than-it-came = { $steps ->
    [one] 1 step
   *[other] { $steps } steps
} colder than it came
pages-with-base = with { $base }
pages-rule-asks-use-caps = ; the rule asks for { $steps }, the use caps it
pages-no-spare = no spare
pages-so-many-spares = { $spares ->
    [one] 1 spare
   *[other] { $spares } spares
}
pages-fitted-fitted-spares = { $fitted } fitted, { $spares }
pages-as-you-asked = as you asked
pages-at-about-bar-and-celsius = at about { $bar } bar and { $celsius } °C
pages-coil-has-kv-reserve-kept = the coil has { $kv } kV with its reserve kept
pages-about-kv = about { $kv } kV
pages-kv-least-to-most = { $least } to { $most } kV { $state }; { $has }
pages-min-to-max-n-m = { $min } to { $max } N·m
pages-min-ft-max-ft-lbf = { $min_ft } to { $max_ft } lbf·ft, dry threads; { $source }

## Form

pages-no-place-here-called-text = no place here is called { $text }
pages-place-of-another-kind = { $kind ->
    [scrap] { $text } is for scrap: nothing is moved there or back, plugs go there by Scrap
    [supplier] { $text } is a supplier, which is no place for this field
    [job] { $text } is a job, which is no place for this field
    [quarantine] { $text } is a quarantine, which is no place for this field
   *[other] { $text } is a { $kind }, which is no place for this field
}
pages-other-neither-yes-nor-no = { $other } is neither yes nor no

## Known

pages-no-part-known = no part is known by that
pages-write-whole-part-number-names = write the whole part number, of { $names } for example
pages-no-lot-here-bears-text = no lot here bears { $text }; its label has an L and a number
pages-without-a-name = without a name

## Lately

pages-undone-at-the-counter = undone at the counter
pages-did-plugs-to-job = { $verb } { $plugs } × { $name } to { $job }
pages-did-plugs-from-job = { $verb } { $plugs } × { $name } from { $job }
pages-manager-can-reverse-until-until = a manager can reverse it until { $until }
pages-a-clerk-can-undo-it = a clerk can undo it
pages-waits-for-a-manager = waits for a manager

## Line

pages-no-number-code-place-called = No number, code or place is called so; what the words describe stands here.
pages-attach-part-catalogue = Attach it to a part of the catalogue
pages-make-record-new-part = Make a record of a new part

## Pages

pages-nothing-stands-address-may-have = Nothing stands at this address. It may have been mistyped.
pages-not-here = Not here
pages-done-button-page-not-opening = This is done by the button of a page, not by opening its address.
pages-open-the-page-anew = Open the page anew.
pages-not-in-this-way = Not in this way

## Once

pages-form-came-without-key-nothing = The form came without its key, so nothing was done; send it again.

## Outlines

pages-name-true-false-not-text = { $name } is true or false, not { $text }
pages-gap-why = gap: { $why }

## Typed

pages-form-larger-any-can-filled = The form is larger than any that can be filled in.
pages-form-these-pages-comes-another = A form of these pages comes in another type.
pages-form-did-not-arrive-whole = The form did not arrive whole.
pages-begin-with-a-number = begin with a number
pages-given-no-unit-understood-those = { $given } is no unit of this; understood: { $those }
pages-a-fraction-of-nought = a fraction of nought
pages-text-can-read-two-ways = { $text } can be read in two ways: write { $before }{ $after } or { $before }{ $mark }{ $after }
pages-text-is-no-number = { $text } is no number
pages-text-is-no-whole-number = { $text } is no whole number
pages-text-no-day-write-2026 = { $text } is no day; write it as 2026-12-01
pages-text-no-sum-money = { $text } is no sum of money
pages-currency-has-places-after-point = { $currency } has { $places ->
    [one] 1 place
   *[other] { $places } places
} after the point
pages-more-money-than-there-is = more money than there is

## Visitor

pages-takes-role-least-you-signed = This takes the role { $least }; you are signed in as { $role }.
pages-not-your-form = Not your form
pages-form-came-another-site-nobody = The form came from another site, so nobody was signed in.
pages-token-unknown-revoked = That token is unknown or revoked.
pages-link-has-been-used-too = That link has been used, or is too old. Sign in with a token.
pages-bins = bins
pages-days = days
pages-plugs = plugs
pages-steps = steps
pages-so-many-days = { $days ->
    [one] 1 day
   *[other] { $days } days
}
pages-so-many-plugs = { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
}
pages-so-many-parts = { $parts ->
    [one] 1 part
   *[other] { $parts } parts
}
pages-undone = undone
pages-stands = stands
pages-unknown = unknown
pages-gapped-to-gap = gapped to { $gap }
pages-none = none
pages-open = open
pages-nothing = nothing
pages-part = part
pages-build = build
pages-head = head
pages-yes = yes
pages-no = no
pages-and = {" and "}
pages-form-came-from-another-site = The form came from another site, so nothing was done.
pages-signed-out-comes-along = You were signed out meanwhile, so nothing was done. Sign in: what you typed comes along.
pages-signed-out-type-again = You were signed out meanwhile, so nothing was done. Sign in to go on, and enter this again: { $typed }
pages-signed-out-go-on = You were signed out meanwhile, so nothing was done. Sign in to go on.
pages-more-was-asked = More was asked than the shop allows in the time, so nothing was done. Wait { $seconds } s, then go back and try again.
pages-too-much-at-once = Too much at once
