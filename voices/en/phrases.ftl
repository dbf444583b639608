# What the program itself says, in English. Movements and sessions bring their own words.
# $... are handed in by the program; numbers arrive as words where `number-...` has them.

## Marks: a count always means that the work changes now.

count-3 = three
count-2 = two
count-1 = one
halfway = halfway
ten-to-go = ten to go
thirty-seconds = thirty seconds to go
last-repetition = last one
change-sides = change sides
begin-by-key = Press { $key } to begin.
until-key = Press { $key } to go on.
# Where no key is mapped.
begin-when-told = Tell it to begin.
until-told = Tell it to go on.
minutes-to-go = { $n ->
    [one] one minute to go
   *[other] { $words } minutes to go
}

## Sides, always the listener's own.

# As it follows a name; with a limb where one is known.
side-right = right
side-left = left
side-arm-right = right
side-arm-left = left
side-leg-right = right
side-leg-left = left
# The limb itself, without an article.
limb-right = right side
limb-left = left side
limb-arm-right = right arm
limb-arm-left = left arm
limb-leg-right = right leg
limb-leg-left = left leg

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
number-21 = twenty-one
number-22 = twenty-two
number-23 = twenty-three
number-24 = twenty-four
number-25 = twenty-five
number-26 = twenty-six
number-27 = twenty-seven
number-28 = twenty-eight
number-29 = twenty-nine
number-30 = thirty
number-31 = thirty-one
number-32 = thirty-two
number-33 = thirty-three
number-34 = thirty-four
number-35 = thirty-five
number-36 = thirty-six
number-37 = thirty-seven
number-38 = thirty-eight
number-39 = thirty-nine
number-40 = forty
number-41 = forty-one
number-42 = forty-two
number-43 = forty-three
number-44 = forty-four
number-45 = forty-five
number-46 = forty-six
number-47 = forty-seven
number-48 = forty-eight
number-49 = forty-nine
number-50 = fifty
number-51 = fifty-one
number-52 = fifty-two
number-53 = fifty-three
number-54 = fifty-four
number-55 = fifty-five
number-56 = fifty-six
number-57 = fifty-seven
number-58 = fifty-eight
number-59 = fifty-nine
number-60 = sixty
number-61 = sixty-one
number-62 = sixty-two
number-63 = sixty-three
number-64 = sixty-four
number-65 = sixty-five
number-66 = sixty-six
number-67 = sixty-seven
number-68 = sixty-eight
number-69 = sixty-nine
number-70 = seventy
number-71 = seventy-one
number-72 = seventy-two
number-73 = seventy-three
number-74 = seventy-four
number-75 = seventy-five
number-76 = seventy-six
number-77 = seventy-seven
number-78 = seventy-eight
number-79 = seventy-nine
number-80 = eighty
number-81 = eighty-one
number-82 = eighty-two
number-83 = eighty-three
number-84 = eighty-four
number-85 = eighty-five
number-86 = eighty-six
number-87 = eighty-seven
number-88 = eighty-eight
number-89 = eighty-nine
number-90 = ninety
number-91 = ninety-one
number-92 = ninety-two
number-93 = ninety-three
number-94 = ninety-four
number-95 = ninety-five
number-96 = ninety-six
number-97 = ninety-seven
number-98 = ninety-eight
number-99 = ninety-nine

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

# Those with -open are for a session that goes on by a key, so that its length is not known.
opening-one-block = { $title }: { $facts }. { $total } in all.
opening-one-block-open = { $title }: { $facts }.
opening-blocks = { $title }: { $blocks }. { $total } in all.
opening-blocks-open = { $title }: { $blocks }.
opening-brief = { $title }. { $total } in all.
opening-brief-open = { $title }.
# $n is the number of rounds.
block-facts = { $rounds } of { $movements }, { $times }
block-facts-uneven = { $rounds } of { $movements }
times-on-off = { $work } on, { $rest } off
times-each = { $work } each
times-reps = { $reps } each
times-reps-every = { $reps } { $every }
times-every = { $work } { $every }
times-until-key = each until you go on
every-minute = every minute
every-length = every { $length }
about = about { $length }
rounds = { $n ->
    [one] { $words } round
   *[other] { $words } rounds
}
movements = { $n ->
    [one] { $words } movement
   *[other] { $words } movements
}
stations = { $n ->
    [one] { $words } station
   *[other] { $words } stations
}
repetitions = { $n ->
    [one] { $words } repetition
   *[other] { $words } repetitions
}
blocks = { $n ->
    [one] { $words } part
   *[other] { $words } parts
}
block-begins = { $title }: { $facts }.
block-begins-brief = { $title }.

you-need = You need { $items }.
# Things: $begins is vowel, h or consonant; $gender is there for the languages that need it.
a-item = { $begins ->
    [vowel] an { $item }
   *[other] a { $item }
}
one-item = one { $item }
many-items = { $words } { $items }

caution-space = Clear the floor and the space above.
caution-stop = Stop at once for pain in the chest or a joint, faintness, an uneven heartbeat, or breath that will not settle in the rests.
caution-emergency = Chest pain that lasts, a collapse, or sudden loss of speech, sight or strength: call the emergency number.
caution-doubt = In doubt, ask a doctor or physiotherapist first. This is not medical advice.
caution-brief = Clear your space, and stop at once for pain, faintness, or breath that will not settle.
no-warm-up = There is no warm-up in this session. Move easily for five to ten minutes first.
effort-aim = Work at { $words } out of ten, never at ten.
effort-aim-easy = Work at { $words } out of ten: easy enough to talk.
effort-aim-all = Work hard, and keep one breath in hand.
leave-weights = Leaving { $the } down is fine at any time.
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

# Where sides change from one repetition to the next; where they change in the middle of a work.
name-starting = { $name }, starting { $side }
side-then = { $side }, then { $other }
other-half = The { $limb }.
other-half-next = Next, the { $limb }.
other-half-next-hold = Next, the { $limb }, { $the } { $hold }.

## Stations: several people at once.

station-name = Station { $n }: { $name }.
station-name-sides = Station { $n }: { $name }, right first, then left from halfway.
station-cue = Station { $n }: { $text }
station-cue-labelled = Station { $n }, { $text }
stations-begin = Take one station each.
stations-ready = To your stations.
stations-next = On to your next station.
stations-next-put-down = Put down what you hold, and on to your next station.
stations-round = Round { $round }: on to your next station.
finish-stations = Put down what you hold. You are done.

## Equipment and posture: what must leave the hands comes first.

put-down = Put { $the } down.
put-down-place = Put { $the } down at { $place }.
put-down-way = Put { $the } down, well out of the way.
put-down-brief = { $items } down.
put-down-way-brief = { $items } well out of the way.
put-down-one = Put { $one } down.
put-down-one-place = Put { $one } down at { $place }.
put-down-one-brief = { $one } down.
take = Take { $the } { $hold }.
take-place = Take { $the } from { $place }, { $hold }.
take-brief = { $the } { $hold }.
change-hold = Now { $the } { $hold }.
the-item = the { $item }
the-items = the { $item }
# With its load: before the article is put to it, and after.
loaded-name = { $load } { $item }
loaded-phrase = { $phrase }
posture-floor = Come down to the floor.
posture-floor-brief = Down to the floor.
posture-kneeling = Come to kneeling.
posture-kneeling-brief = Kneel.
posture-standing = Come up to standing, without haste.
posture-standing-brief = Up to standing.

# In the end of a work, after the next name.
then = Then { $text }

## Cues that are an offer, never an order.

easier-brief = Easier: { $text }
harder-brief = Harder: { $text }

breathing-lowering-first = Breathe in as you lower, out on the effort.
breathing-effort-first = Breathe out on the effort, in as you return.

## In the rests and at the end.

recovery-1 = Walk a little and let your breath settle.
recovery-1-brief = Let your breath settle.
recovery-2 = Easy steps, long breaths out.
recovery-2-brief = Long breaths out.
recovery-3 = Shake out your arms and breathe low into your belly.
recovery-3-brief = Breathe low.
recovery-floor = Stay where you are and let your breath settle.
recovery-floor-brief = Let your breath settle.
# Facts; each has three wordings that take turns. $done is at least two.
progress-round-1 = { $done } done, { $left } to go.
progress-round-2 = You have { $done } behind you, { $left } to go.
progress-round-3 = { $left } to go, { $done } done.
progress-in-round-1 = { $done } done in this round, { $left } to go.
progress-in-round-2 = { $left } to go in this round.
progress-in-round-3 = This round: { $done } done, { $left } left.
progress-clock-1 = About { $length } to go in all.
progress-clock-2 = In about { $length } it is done.
progress-clock-3 = { $length } or so to the end.
progress-last-round = This is the last round.
progress-half = Half of the session is behind you.
finish-done = You are done.
finish-put-down = Put { $the } down. You are done.
finish-walk = Stay on your feet and walk until your breath is calm.
finish-floor = Come up slowly, in your own time, and walk until your breath is calm.
finish-faint = If you feel faint, sit or lie down at once.
finish-effort = How hard was the whole session, nought to ten? Note a number, now or later.
finish-effort-brief = How hard was it, nought to ten?

## In the coach's ear alone.

aside-coming = Coming up: { $name }
aside-last = After this comes the end.
aside-left = About { $length } left of the class.

## On the keys, while it runs.

said-paused = Paused.
said-going-on = Going on.
said-device-back = The sound is back.
said-louder = Louder.
said-quieter = Quieter.
said-faster = Faster.
said-slower = Slower.
said-more = More words.
said-less = Fewer words.
said-not-now = Not now.
said-nothing-yet = Nothing there yet.
said-noted = Noted.
said-how-hard = How hard was it, nought to ten? Press a number.
# In the middle, after it was cut off: "Boathouse five goes on. Press-up. Round two of three."
said-goes-on = { $title } goes on. { $name }
said-no-easier = There is no easier option.
said-rest = Rest, { $left }.
said-round = Round { $round } of { $rounds }.
# $Left is $left with a capital.
said-place-work = { $name } { $Left } left.
said-place-open = { $name } Until you go on.
said-place-start = { $Left } to the start. Next: { $name }
said-place-rest = Rest, { $left }. Next: { $name }

## The keys, as they are mapped. Parts of a sentence, which begins with a capital.

keys-sentence = { $parts }.
keys-none = No key does anything while a class runs.
keys-none-between = No key does anything between classes.
key-or = { $first } or { $second }
key-pause-or-resume = { $key } pauses and goes on
key-pause = { $key } pauses
key-resume = { $key } goes on
key-skip = { $key } skips
key-back = { $key } goes back
key-repeat = { $key } says the last line again
key-where = { $key } says where you are
key-explain = { $key } explains the movement
key-easier = { $key } gives the easier option
keys-volume = { $first } and { $second } change the volume
key-louder = { $key } makes it louder
key-quieter = { $key } makes it quieter
keys-speed = { $first } and { $second } change how fast it is spoken
key-speech-faster = { $key } speaks faster
key-speech-slower = { $key } speaks slower
keys-talk = { $first } and { $second } change how much is said
key-talk-more = { $key } says more
key-talk-less = { $key } says less
keys-figures = the number keys say the effort felt, at the end
key-rate = { $key } says effort { $words }
key-rate-skip = { $key } leaves the effort open
key-next = { $key } names the next session
key-previous = { $key } names the session before
key-start = { $key } starts the session
key-start-session = { $key } starts { $session }
key-help = { $key } says the keys again
key-stop = { $key } stops
one-button = the button
one-button-running = One press of { $key } pauses, two skip, a press lets it go on.
one-button-between = One press of { $key } names the next session, two start it.

# Keys as one says them: letters are said as they are, figures as numbers.
key-function = F{ $n }
key-named-space = space
key-named-enter = enter
key-named-tab = tab
key-named-escape = escape
key-named-backspace = backspace
key-named-delete = delete
key-named-up = arrow up
key-named-down = arrow down
key-named-left = arrow left
key-named-right = arrow right
key-named-home = home
key-named-end = end
key-named-page-up = page up
key-named-page-down = page down
key-named-plus = plus
key-named-minus = minus
key-named-equals = equals
key-named-underscore = underscore
key-named-comma = comma
key-named-full-stop = full stop
key-named-semicolon = semicolon
key-named-colon = colon
key-named-exclamation-mark = exclamation mark
key-named-question-mark = question mark
key-named-apostrophe = apostrophe
key-named-quotation-mark = quotation mark
key-named-backtick = backtick
key-named-tilde = tilde
key-named-caret = caret
key-named-at = at sign
key-named-hash = hash
key-named-dollar = dollar sign
key-named-percent = percent sign
key-named-ampersand = ampersand
key-named-star = star
key-named-slash = slash
key-named-backslash = backslash
key-named-bar = bar
key-named-opening-bracket = opening bracket
key-named-closing-bracket = closing bracket
key-named-opening-square-bracket = opening square bracket
key-named-closing-square-bracket = closing square bracket
key-named-opening-brace = opening brace
key-named-closing-brace = closing brace
key-named-less-than = less than
key-named-greater-than = greater than

## Where a session was left, at the next start.

stopped-at = { $title } stopped at the { $name }.
stopped-at-round = { $title } stopped in round { $round } at the { $name }.
stopped-after = { $title } stopped after the { $name }.
stopped-after-round = { $title } stopped in round { $round } after the { $name }.

start-goes-on = Start goes on there.

## Choosing a session by ear, in the background.

choose-hint = { $next } says the next session, { $start } begins it.
said-nothing-runs = No class runs.
no-session = There is no session called { $title }.
no-session-near = There is no session called { $title }. Did you mean { $near }?
last-good-one = The last good one is spoken.
session-begins = { $title } begins.
session-over = { $title } has ended.

## News of the folder that is watched.

session-waits = { $title } is waiting: { $what }, { $length }.
session-waits-open = { $title } is waiting: { $what }.
# $uses is the same with the noun: "five movements".
rounds-of = { $rounds } of { $n }
session-fault = { $title } has a fault: { $message }.
session-fault-line = { $title } has a fault in line { $line }: { $message }.
session-fault-movement = { $title } has a fault in its movement { $movement }, line { $line }: { $message }.
session-fault-movement-whole = { $title } has a fault in its movement { $movement }: { $message }.
session-gone = { $title } is no longer there.
# For several at once: "Five sessions have changed: four sessions are waiting and one has a fault."
sessions-none = no session is waiting
sessions-waiting = { $n ->
    [one] { $words } session is waiting
   *[other] { $words } sessions are waiting
}
sessions-faulty = { $n ->
    [one] { $words } has a fault
   *[other] { $words } have faults
}
sessions-gone = { $n ->
    [one] { $words } is no longer there
   *[other] { $words } are no longer there
}
sessions-changed = { $n ->
    [one] { $words } session has changed
   *[other] { $words } sessions have changed
}
sessions-told = { $facts }.
sessions-changed-told = { $changed }: { $facts }.

## After a rehearsal: "Two places ran over, the worst by four seconds."

rehearsed-well = Every place was in time.
rehearsed-over = { $n ->
    [one] { $words } place ran over
   *[other] { $words } places ran over
}
rehearsed = { $over }, the worst by { $length }.
rehearsed-silent = { $n ->
    [one] { $words } line that must be said was not heard.
   *[other] { $words } lines that must be said were not heard.
}

## While a class is practised, answering a key: how much help there is from here on, and where it stands.

rehearse-whole = Each passage is heard first.
rehearse-first-words = First words only.
rehearse-name = Names only.
rehearse-marks = Counts and tones only.
rehearse-again = This passage again and again.
rehearse-on = On with the next.
rehearse-where = Passage { $at } of { $of }.

## The tones, as `tones` names them.

tone-start = A work starts.
tone-end = A work ends.
tone-fault = Something could not be spoken.

## On screen and on paper: captions and chapters.

caption-start-tone = start tone
caption-end-tone = end tone
caption-fault-tone = fault tone
caption-music = music
caption-sync-tone = sync tone
caption-left-out = not heard here: { $text }
caption-not-recorded = not recorded
caption-record-ends = the record ends here
chapter-opening = Opening
chapter-block = Part { $number }
chapter-round = Round { $number } of { $of }
chapter-stations = All stations
chapter-stations-turn = All stations, { $number } of { $of }
chapter-finish = Finish
sheet-coach = For the coach
sheet-participants = For everybody who trains
sheet-facts = { $total } in all. Voice: { $voice }.
sheet-timeline = What is heard, and when
sheet-left-out = Left out
sheet-nothing = Nothing.
sheet-work = work
sheet-rest = Rest
sheet-around = before and after
sheet-until-key = until a key is pressed
sheet-count = a count
sheet-line = a line, as long as it is heard
sheet-safety = for safety
sheet-ready = Have ready
sheet-exercises = The movements
sheet-stations = The stations
sheet-start = Start
sheet-how = Move
sheet-care = Take care
sheet-easier = Easier
sheet-cautions = For your safety
sheet-mirrored = What is done on one side is written for the first; mirror it for the other.
