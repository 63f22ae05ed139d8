## Calibration

scales-the-scale-that-stands = The scale that stands
scales-the-scale-that-stands-hint = the others are fitted to it
scales-statements = Statements
scales-statements-hint = one in a line: two codes that are as cold as each other, each behind the name of its scale, with = between; perhaps ; and a weight. Lines of a table can be pasted: scale, code, scale, code, weight
scales-nothing-applied-detail-look-comes = Nothing was applied: { $detail }. Look at it as it comes out now.
scales-line-line-detail = line { $line }: { $detail }
scales-count-statements-reach-scale-stands = { $count } of { $statements ->
    [one] 1 statement
   *[other] { $statements } statements
} reach the scale that stands; { $moved ->
    [one] 1 code
   *[other] { $moved } codes
} would move.
scales-by-line-line = by line { $line }
scales-order-scale = by the order of the scale
scales-line-line-text = Line { $line }: { $text }
scales-its-place-between-fitted-neighbours = its place between fitted neighbours
scales-nothing-it-stays = nothing: it stays
scales-nothing-order-moves-look = nothing: the order moves it, look at it
scales-codes-of-name = Codes of { $name }
scales-code = Code
scales-index-now = Index now
scales-would-be = Would be
scales-rests-on = Rests on
scales-it-has-no-code = It has no code.
scales-tells-nothing-no-chain-links = tells nothing: no chain links it to the scale that stands
scales-breaks-the-rest = breaks the rest
scales-how-far-each-statement-misses = How far each statement misses
scales-line = Line
scales-said = Said
scales-misses-by = Misses by
scales-nothing-was-stated = Nothing was stated.

## Scales

scales-heat-scale = heat scale
scales-calibrated-day = calibrated { $day }
scales-typed-in = typed in
scales-least-to-most = { $least } to { $most }
scales-heat-scales = Heat scales
scales-scale = Scale
scales-codes = Codes
scales-index = Index
scales-where-it-comes-from = Where it comes from
scales-no-heat-scale-is-stored = No heat scale is stored.

## Scale

scales-maker = Maker
scales-name = Name
scales-name-hint = which of the maker's scales
scales-codes-hint = one in a line, in the maker's order: the code, then its place on the index, as in 7 55
scales-a-new-heat-scale = A new heat scale
scales-plugs-get-colder-along-maker = Plugs get colder along the maker's order.
scales-plugs-get-hotter-along-maker = Plugs get hotter along the maker's order.
scales-calibrated-day-colder = Calibrated { $day }. { $colder }
scales-typed-in-colder = Typed in. { $colder }
scales-written-no-part-carries-another = Written. No part carries another index for it.
scales-written-parts-parts-carry-codes = Written. { $parts } of the parts that carry its codes have another index now; look whether they still fit: { $held } reservations and engines hold some of them.
scales-codes-in-the-maker-order = Codes in the maker's order
scales-parts-that-carry-its-codes = Parts that carry its codes
scales-part = Part
scales-in-short = In short
scales-no-part-carries-code = No part carries a code of it.
scales-scale-changed-while-you-typed = The scale was changed while you typed, so nothing was written. Its codes stand below as they are now; send the form again to write yours all the same.
scales-line-place-why = line { $place }: { $why }
scales-line-has-no-index-behind = { $line } has no index behind its code

## Statements

scales-two-codes-needed-between = two codes are needed, with = between
scales-text-is-no-weight = { $text } is no weight
scales-text-begins-name-no-heat = { $text } begins with the name of no heat scale, or has no code behind it
scales-so-many-codes = { $codes ->
    [one] 1 code
   *[other] { $codes } codes
}
scales-so-many-statements = { $statements ->
    [one] 1 statement
   *[other] { $statements } statements
}
scales-moves = moves
