## Build form

workshop-name = Name
workshop-name-hint = what the shop calls it
workshop-name-of-its-head = What its head is called
workshop-name-of-its-head-hint = keeps the head as a record of its own, for other builds too; left open, it stays with this build
workshop-that-head-has-a-name = the stored head has a name already: leave this open
workshop-unit-may-typed-beside-number = A unit may be typed beside a number: 0.75 in, 13/16 in, 650 hp, 12 psi, 34 kV. What nobody knows is left open.
workshop-a-new-build = A new build
workshop-store-this-build = Store this build
workshop-all-builds = All builds
workshop-back-to-what-fits = Back to what fits, without storing it
workshop-change-a-build = Change a build
workshop-store-the-change = Store the change
workshop-back-without-a-change = Back, without a change

## Builds

workshop-odometer-now = Odometer now
workshop-odometer-now-hint = how far the set that is in has run
workshop-leads-or-boots-renewed-on = Leads or boots renewed on
workshop-leads-or-boots-renewed-on-hint = plug changes count from there
workshop-its-own = its own
workshop-store-a-new-build = Store a new build
workshop-builds = Builds
workshop-engines-built-over-head = Engines as built, over a head.
workshop-build = Build
workshop-engine = Engine
workshop-head = Head
workshop-no-build-is-stored-yet = No build is stored yet.
workshop-cylinder-head = Cylinder head
workshop-somebody-changed-build-while-you = Somebody changed this build while you were at it, so nothing was stored. It stands here as it is now; what you typed is kept.

## Check

workshop-stored-build = Stored build
workshop-part-that-is-in = Part that is in
workshop-part-that-is-in-hint = part number or barcode; where nobody knows it, tell of the plug below
workshop-gap-as-measured = Gap as measured
workshop-gap-as-measured-hint = the widest of the set
workshop-run-so-far = Run so far
workshop-dropped = Dropped
workshop-dropped-hint = how many fell, or may have fallen
workshop-plug-changes = Plug changes
workshop-plug-changes-hint = that leads or boots have seen
workshop-leads-renewed-since = Leads renewed since
workshop-thread = Thread
workshop-reach = Reach
workshop-seat = Seat
workshop-hex = Hex
workshop-heat-index = Heat index
workshop-projection = Projection
workshop-resistor = Resistor
workshop-resistance = Resistance
workshop-resistance-hint = ohmmeter from terminal to centre electrode
workshop-tip-metal = Tip metal
workshop-terminal = Terminal
workshop-what-the-driver-complains-of = What the driver complains of
workshop-what-the-driver-complains-of-hint = tick none where nothing is wrong
workshop-choose-stored-build-describe-hand = choose a stored build, or describe one by hand
workshop-either-stored-build-hand-not = either a stored build or one by hand, not both
workshop-name-part-tell-plug-below = name the part that is in, or tell of the plug below

## Checked

workshop-stop = Stop
workshop-put-right = Put right
workshop-watch = Watch
workshop-so-many-to-stop-for = { $some } to stop for
workshop-so-many-to-put-right = { $some } to put right
workshop-so-many-to-watch = { $some } to watch
workshop-nothing-told-wrong-these-plugs = Nothing of what was told is wrong with these plugs.
workshop-a-build-by-hand = A build by hand
workshop-plug-told = A plug as it was told

## Due

workshop-no-page-list-begin-first = that is no page of this list; begin at its first
workshop-past-its-life-by = Past its life by
workshop-may-still-run = May still run
workshop-has-run = Has run
workshop-lasts-in-this-engine = Lasts in this engine
workshop-plug-changes-on-these-leads = Plug changes on these leads

## Facts

workshop-none-at-all = none at all

## Fitted

workshop-not-told = not told
workshop-part = Part
workshop-plugs = Plugs
workshop-since = Since
workshop-odometer-then = Odometer then
workshop-where-it-is = Where it is
workshop-fitted-sets = Fitted sets
workshop-no-set-known-engine-issue = No set is known to be in an engine: issue plugs for a build.
workshop-fitted-set = fitted set
workshop-gap = Gap
workshop-readings-of-its-plugs = Readings of its plugs
workshop-leads-renewed-on = Leads renewed on
workshop-replaced-on = Replaced on
workshop-it-ran = It ran

## Heads

workshop-cylinder-heads = Cylinder heads
workshop-heat-index-it-came-with = Heat index it came with
workshop-no-head-is-stored-yet = No head is stored yet.
workshop-store-a-new-head = Store a new head
workshop-heads = Heads
workshop-cylinder-head-takes-builds-stand = What a cylinder head takes; builds stand on it.
workshop-builds-over-this-head = Builds over this head
workshop-no-build-stands-on-it = No build stands on it.
workshop-a-new-head = A new head
workshop-nobody-knows-left-open-unit = What nobody knows is left open. A unit may be typed beside a number: 0.75 in, 13/16 in.
workshop-store-this-head = Store this head
workshop-all-heads = All heads
workshop-change-called = Change { $called }
workshop-every-build-over-asks-says = Every build over it asks for what it says from then on.
workshop-somebody-changed-head-while-you = Somebody changed this head while you looked at it, so it was not removed.

## Workshop

workshop-without-a-name = without a name

## Name

workshop-thread-over-its-crests = Thread over its crests
workshop-pitch = Pitch
workshop-hex-form = Hex form
workshop-ground-electrode = Ground electrode
workshop-overall = Overall
workshop-insulator = Insulator
workshop-designation-worn = { $designation }, worn
workshop-cannot-be-told = cannot be told
workshop-none-that-plugs-have = none that plugs have
workshop-not-fitted = not fitted
workshop-less-than-1 = less than 1 %
workshop-about-share = about { $share } %

## Reading form

workshop-run = Run
workshop-run-hint = pull or pass of the day, from 1
workshop-cylinder = Cylinder
workshop-cylinder-hint = from 1
workshop-plug-of-the-cylinder = Plug of the cylinder
workshop-plug-of-the-cylinder-hint = only where there are several
workshop-went-out-with = Went out with
workshop-went-out-with-hint = without its issue a reading is kept, but is no evidence
workshop-tuning-day = Tuning day
workshop-full-load = Full load
workshop-full-load-hint = unknown is not taken for yes
workshop-clean-shut-off = Clean shut-off
workshop-clean-shut-off-hint = ignition cut at full load, and the plug out before any idling
workshop-ground-strap = Ground strap
workshop-heat-line = Heat line
workshop-shell-end = Shell's end
workshop-base-ring = Base ring
workshop-porcelain = Porcelain
workshop-speckles = Speckles
workshop-before-the-run = Before the run
workshop-after-it = After it
workshop-after-it-hint = 0 where it was hammered shut
workshop-anything-else = Anything else
workshop-note = Note
workshop-quantity-part-to-job-day = { $quantity } × { $part } to { $job }, { $day }
workshop-not-looked-at = not looked at
workshop-read-a-plug-of-called = Read a plug of { $called }
workshop-not-looked-says-nothing-either = What was not looked at says nothing either way. What it suggests is told once it is kept; a reading is never changed.
workshop-keep-this-reading = Keep this reading
workshop-readings-of-this-build = Readings of this build

## Readings

workshop-kept-but-no-evidence = kept, but no evidence
workshop-tells-nothing = tells nothing
workshop-maker-part-number-heat-heat = { $maker } { $part_number }, heat { $heat }
workshop-plug-plug = , plug { $plug }
workshop-run-run-cylinder-cylinder-plug = Run { $run }, cylinder { $cylinder }{ $plug }
workshop-reading = Reading
workshop-kept = Kept
workshop-plug = Plug
workshop-suggests = Suggests
workshop-readings = Readings
workshop-no-plug-has-been-read = No plug has been read yet.
workshop-tuning-day-2 = tuning day
workshop-gap-before-then-after = { $before }, then { $after }
workshop-what-the-gap-did = what the gap did

## Tuning day

workshop-cost-unknown = cost unknown
workshop-sum-each = , { $sum } each
workshop-nobody-said-plugs-them-cost = Nobody said what { $unknown ->
    [one] 1 plug
   *[other] { $unknown } plugs
} of them cost.
workshop-as-it-is = as it is
workshop-quantity-of-lot-code = { $quantity } of lot { $code }
workshop-open-quantity-still-kept-issued = { $open } of { $quantity } still kept, { $issued_quantity } issued: { $state }
workshop-pulls-cylinders-plugs-and-spares = { $pulls ->
    [one] 1 pull
   *[other] { $pulls } pulls
} × { $cylinders_read ->
    [one] 1 cylinder
   *[other] { $cylinders_read } cylinders
} × { $plugs_per_cylinder ->
    [one] 1 plug
   *[other] { $plugs_per_cylinder } plugs
}, and { $spares ->
    [one] 1 spare
   *[other] { $spares } spares
}
workshop-a-build-by-hand-2 = a build by hand
workshop-fresh-plugs = { $plugs ->
    [one] 1 fresh plug
   *[other] { $plugs } fresh plugs
}

## Tuning days

workshop-name-hint-2 = its plugs are kept for a job of this name
workshop-day = Day
workshop-pulls = Pulls
workshop-pulls-hint = at full load, each on fresh plugs
workshop-cylinders-read = Cylinders read
workshop-cylinders-read-hint = at each pull; all where left open
workshop-spares = Spares
workshop-spares-hint = the build's where left open
workshop-part-to-read-on = Part to read on
workshop-part-to-read-on-hint = the least costly that fits where left open
workshop-keep-plugs-day = Keep the plugs for the day
workshop-keep-plugs-day-hint = yes where left open
workshop-tip-metals = Tip metals
workshop-tip-metals-hint = any where none is ticked: reading plugs are used once
workshop-nothing-fits = nothing fits
workshop-where-it-stands = Where it stands
workshop-tuning-days = Tuning days
workshop-no-tuning-day-is-planned = No tuning day is planned.
workshop-plan-a-tuning-day = Plan a tuning day
workshop-every-pull-read-fresh-plugs = Every pull is read on fresh plugs: pulls × cylinders read × plugs in each, and spares.
workshop-plan-this-day = Plan this day
workshop-all-tuning-days = All tuning days
workshop-so-many-findings = { $findings ->
    [one] 1 finding
   *[other] { $findings } findings
}: { $which }.
workshop-fitted = fitted

## Waiting jobs

workshop-job-waits = The job waits. It stands here until it has its plugs.
workshop-job-waits-no-longer = The job waits no longer.
workshop-job-waits-on = That job stands otherwise than the page showed: it waits on. Look at it and press again.
workshop-so-many-plugs = { $plugs ->
    [one] 1 plug
   *[other] { $plugs } plugs
}
workshop-so-many-plugs-of-all = { $plugs } of { $all }
workshop-job-can-have = { $plugs } can be had since { $since }; asked { $asked }
workshop-job-waits-for = Waits for { $plugs } since { $asked }
workshop-waiting-job = waiting job
