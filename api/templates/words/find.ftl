## Engine fields

find-stored-head = Stored head
find-stored-head-hint = or describe it below
find-thread = Thread
find-reach = Reach
find-reach-hint = from the seat to the end of the thread
find-seat = Seat
find-heat-index-it-came-with = Heat index it came with
find-heat-index-it-came-with-hint = 50 is a mid-range street plug, 10 more a step colder
find-largest-hex = Largest hex
find-largest-hex-hint = what the plug well takes
find-projection-from = Projection from
find-projection-from-hint = the window, by the head's maker
find-projection-to = Projection to
find-terminal = Terminal
find-terminal-hint = what lead or boot ask for
find-material = Material
find-reach-tolerance = Reach tolerance
find-reach-tolerance-hint = 0.3 where left open
find-asks-for-a-tight-gap = Asks for a tight gap
find-cylinders = Cylinders
find-induction = Induction
find-use = Use
find-power-before = Power before
find-power-as-built = Power as built
find-boost-before = Boost before
find-boost-as-built = Boost as built
find-boost-as-built-hint = gauge, at full load
find-compression-ratio = Compression ratio
find-compression-ratio-hint = 9.5 for 9.5 to 1
find-coil = Coil
find-displacement = Displacement
find-fuel = Fuel
find-plugs-per-cylinder = Plugs per cylinder
find-plugs-per-cylinder-hint = 1 where left open
find-plug-that-was-in = Plug that was in
find-plug-that-was-in-hint = part number or barcode; lends its heat where the head has none
find-electronics = Electronics
find-electronics-hint = tick none where nobody knows
find-stroke = Stroke
find-connecting-rod = Connecting rod
find-connecting-rod-hint = between centres
find-intake-closes = Intake closes
find-intake-closes-hint = after bottom dead centre
find-spark = Spark
find-spark-hint = before top dead centre, at full load
find-charge = Charge
find-charge-hint = at the intake valve
find-altitude = Altitude
find-heat-steps-colder = Heat steps colder
find-gap-to-set = Gap to set
find-spares = Spares
find-tip-metals = Tip metals
find-tip-metals-hint = nothing else will do
find-plugs = Plugs
find-plugs-hint = the whole set where left open
find-on-the-shelf = On the shelf
find-cylinder-head = Cylinder head
find-head-not-stored = A head that is not stored
find-thread-reach-seat-needed-then = Thread, reach and seat are needed then, and the heat index or the plug that was in.
find-engine-as-built = Engine as built
find-finer-figures = Finer figures
find-assumed-where-left-open-said = Assumed where left open, and said so.
find-the-makers-word = The makers' word
find-kit-plug-maker-say-stands = What kit or plug maker say stands above the rules.
find-how-many = How many

## Engine form

find-nothing-electronic-at-all = nothing electronic at all
find-the-whole-quantity = the whole quantity
find-at-least-one = at least one
find-shelf-or-not = shelf or not
find-choose-stored-head-describe-below = choose a stored head, or describe it below
find-either-nothing-electronic = either nothing electronic, or what there is

## Engine text

find-so-many-cylinders = { $cylinders ->
    [one] 1 cylinder
   *[other] { $cylinders } cylinders
}
find-boost-boost = { $boost } boost
find-ratio-to-1 = { $ratio } to 1

## Find

find-without-a-name = without a name
find-find-plugs-for-a-build = Find plugs for a build
find-choose-stored-build-describe-needs = Choose a stored build, or describe one: what it needs and what fits stands here then.
find-still-filled-open = Still to be filled in: { $open }.
find-either-stored-build-hand-not = Either a stored build or one by hand, not both.
find-from-one-to-most-plugs = from 1 to { $most } plugs, not { $quantity }
find-choose-one-from-the-list = choose one from the list

## Result

find-parts-fit = { $there } of { $all ->
    [one] 1 part
   *[other] { $all } parts
} that { $all ->
    [one] fits
   *[other] fit
} { $there ->
    [one] is
   *[other] are
} there
find-no-part-catalogue-fits = No part of the catalogue fits.
find-so-many-parts-fit = { $parts ->
    [one] 1 part fits
   *[other] { $parts } parts fit
}, { $in_stock } on the shelf.
find-all-alike-within-tolerance-mm = all alike within { $tolerance_mm } mm; practice { $min } to { $max } mm
find-all-alike-within-tolerance-mm-mm = all alike within { $tolerance_mm } mm
find-each-plug-own = each plug's own
find-see-what-fits = see what fits
find-see-not-answered-cautions = see what is not answered, and the cautions
find-heat-index = Heat index
find-torque = Torque
find-at-the-spark-estimated = At the spark, estimated
find-leave-it-as-it-is = leave it as it is

## Letting a job wait

find-waiting-jobs-can-have = { $jobs ->
    [one] 1 waiting job can have its plugs
   *[other] { $jobs } waiting jobs can have their plugs
}
find-job-that-waits = Job that waits
find-job-that-waits-hint = what the shop calls it; reserving for it, or issuing to it, ends the waiting
find-plugs-to-wait-for = Plugs
find-plugs-to-wait-for-hint = as many as the build takes, where left open
