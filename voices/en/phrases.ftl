# What the program itself says, in English. Movements and sessions bring their own words.
# $... are handed in by the program; numbers arrive as words where `number-...` has them.

## Marks: a count always means that the work changes now.

count-3 = three
count-2 = two
count-1 = one
halfway = halfway
ten-to-go = ten to go
thirty-seconds = thirty seconds
minutes-to-go = { $n ->
    [one] one minute to go
   *[other] { $words } minutes to go
}

## Sides, always the listener's own.

side-right = right
side-left = left

## Numbers as words; the ones not listed are said as digits.

number-0 = nought
number-1 = one
number-2 = two
number-3 = three
number-4 = four
number-5 = five
number-6 = six
number-7 = seven
number-8 = eight
number-9 = nine
number-10 = ten
number-11 = eleven
number-12 = twelve
number-13 = thirteen
number-14 = fourteen
number-15 = fifteen
number-16 = sixteen
number-17 = seventeen
number-18 = eighteen
number-19 = nineteen
number-20 = twenty
number-25 = twenty-five
number-30 = thirty
number-35 = thirty-five
number-40 = forty
number-45 = forty-five
number-50 = fifty
number-60 = sixty
number-90 = ninety

## Lengths of time.

seconds = { $n ->
    [one] { $words } second
   *[other] { $words } seconds
}
minutes = { $n ->
    [one] { $words } minute
   *[other] { $words } minutes
}
minutes-seconds = { $n ->
    [one] { $words } minute { $seconds }
   *[other] { $words } minutes { $seconds }
}

## Lists: a, b and c.

list-two = { $first } and { $second }
list-more = { $first }, { $rest }

## The opening.

opening-even = { $title }: { $rounds } of { $movements }, { $work } on, { $rest } off. { $total } in all.
opening-even-no-rest = { $title }: { $rounds } of { $movements }, { $work } each. { $total } in all.
opening-one-block = { $title }: { $rounds } of { $movements }. { $total } in all.
opening-blocks = { $title }: { $blocks }. { $total } in all.
opening-brief = { $title }. { $total } in all.
about = about { $length }
rounds = { $n ->
    [one] { $words } round
   *[other] { $words } rounds
}
movements = { $n ->
    [one] { $words } movement
   *[other] { $words } movements
}
blocks = { $n ->
    [one] { $words } part
   *[other] { $words } parts
}
block-begins = { $title }: { $rounds } of { $movements }, { $work } on, { $rest } off.
block-begins-no-rest = { $title }: { $rounds } of { $movements }, { $work } each.
block-begins-uneven = { $title }: { $rounds } of { $movements }.
block-begins-brief = { $title }.

you-need = You need { $items }.
a-item = a { $item }
an-item = an { $item }
many-items = { $words } { $items }
plural = { $item }s

caution-space = Clear the floor and the space above.
caution-stop = Stop at once for pain in the chest or a joint, faintness, an uneven heartbeat, or breath that will not settle in the rests.
caution-emergency = Chest pain that lasts, a collapse, or sudden loss of speech, sight or strength: call the emergency number.
caution-doubt = In doubt, ask a doctor or physiotherapist first. This is not medical advice.
caution-brief = Clear your space, and stop at once for pain, faintness, or breath that will not settle.
no-warm-up = There is no warm-up in this session. Move easily for five to ten minutes first.
effort-aim = Work at { $words } out of ten, never at ten.
effort-aim-easy = Work at { $words } out of ten: easy enough to talk.
effort-aim-all = Work hard, and keep one breath in hand.
leave-weights = Leaving the { $items } down is fine at any time.
leave-weights-brief = No weight is fine at any time.

## The next movement.

name = { $name }.
name-side = { $name }, { $side }.
name-first = First, { $name }.
name-first-side = First, { $name }, { $side }.
name-next = Next, { $name }.
name-next-side = Next, { $name }, { $side }.
name-last = Last movement, { $name }.
name-last-side = Last movement, { $name }, { $side }.
name-round = Round { $round } begins with the { $name }.
name-round-side = Round { $round } begins with the { $name }, { $side }.
name-round-brief = Round { $round }: { $name }.
name-round-brief-side = Round { $round }: { $name }, { $side }.

## Equipment and posture: what must leave the hands comes first.

put-down = Put the { $items } down.
put-down-place = Put the { $items } down at { $place }.
put-down-way = Put the { $items } down, well out of the way.
put-down-brief = { $items } down.
put-down-one = Put one { $item } down.
put-down-one-place = Put one { $item } down at { $place }.
put-down-one-brief = One { $item } down.
take = Take { $items } { $hold }.
take-place = Take { $items } from { $place }, { $hold }.
take-brief = { $items } { $hold }.
change-hold = Now { $items } { $hold }.
the-item = the { $item }
the-items = the { $items }
loaded = { $load } { $item }
posture-floor = Come down to the floor.
posture-floor-brief = Down to the floor.
posture-kneeling = Come to kneeling.
posture-kneeling-brief = Kneel.
posture-standing = Come up to standing, without haste.
posture-standing-brief = Up to standing.

## In the rests and at the end.

recovery-1 = Walk a little and let your breath settle.
recovery-1-brief = Let your breath settle.
recovery-2 = Easy steps, long breaths out.
recovery-2-brief = Long breaths out.
recovery-3 = Shake out your arms and breathe low into your belly.
recovery-3-brief = Breathe low.
recovery-floor = Stay where you are and let your breath settle.
recovery-floor-brief = Let your breath settle.
progress-round = { $done } done, { $left } to go.
progress-last-round = This is the last round.
progress-half = Half of the session is behind you.
finish-done = You are done.
finish-put-down = Put the { $items } down. You are done.
finish-walk = Stay on your feet and walk until your breath is calm.
finish-floor = Come up slowly, in your own time, and walk until your breath is calm.
finish-faint = If you feel faint, sit or lie down at once.
finish-effort = How hard was the whole session, nought to ten? Note a number, now or later.
finish-effort-brief = How hard was it, nought to ten?

## On the keys, while it runs.

keys-help = Space pauses and goes on. S skips. Q stops. K says the keys again.
said-paused = Paused.
said-stopped = Stopped.
said-device-back = The sound is back.
