# What the program itself says, in German: "du", as one speaks in a class. Movements and sessions
# bring their own words. A place ("am rechten Ende der Bank") comes with its preposition, a hold
# ("in die rechte Hand") with its direction, things in the accusative.

## Marks: a count always means that the work changes now.

# Heard for so many ms with espeak-ng 1.51, voice de, at its own speed, from the first sample
# above 1 % to the last: drei 313, zwei 424, eins 373, Halbzeit 648, noch zehn 595, die letzte
# 507, Seite wechseln 814; the longest number up to thirty 1093 (sechsundzwanzig). A count has a
# second, a number at least two.

count-3 = drei
count-2 = zwei
count-1 = eins
halfway = Halbzeit
ten-to-go = noch zehn
thirty-seconds = noch dreißig Sekunden
last-repetition = die letzte
change-sides = Seite wechseln
begin-by-key = { $key } drücken, dann geht es los.
until-key = { $key } drücken, dann geht es weiter.
begin-when-told = Sag Bescheid, dann geht es los.
until-told = Sag Bescheid, dann geht es weiter.
minutes-to-go = { $n ->
    [one] noch { $feminine } Minute
   *[other] noch { $words } Minuten
}

## Sides, always the listener's own.

side-right = rechts
side-left = links
side-arm-right = rechts
side-arm-left = links
side-leg-right = rechts
side-leg-left = links
# With the article, as a sentence names them.
limb-right = die rechte Seite
limb-left = die linke Seite
limb-arm-right = der rechte Arm
limb-arm-left = der linke Arm
limb-leg-right = das rechte Bein
limb-leg-left = das linke Bein

## Numbers as words; the ones not listed are said as digits.

number-0 = null
number-1 = eins
number-2 = zwei
number-3 = drei
number-4 = vier
number-5 = fünf
number-6 = sechs
number-7 = sieben
number-8 = acht
number-9 = neun
number-10 = zehn
number-11 = elf
number-12 = zwölf
number-13 = dreizehn
number-14 = vierzehn
number-15 = fünfzehn
number-16 = sechzehn
number-17 = siebzehn
number-18 = achtzehn
number-19 = neunzehn
number-20 = zwanzig
number-21 = einundzwanzig
number-22 = zweiundzwanzig
number-23 = dreiundzwanzig
number-24 = vierundzwanzig
number-25 = fünfundzwanzig
number-26 = sechsundzwanzig
number-27 = siebenundzwanzig
number-28 = achtundzwanzig
number-29 = neunundzwanzig
number-30 = dreißig
number-31 = einunddreißig
number-32 = zweiunddreißig
number-33 = dreiunddreißig
number-34 = vierunddreißig
number-35 = fünfunddreißig
number-36 = sechsunddreißig
number-37 = siebenunddreißig
number-38 = achtunddreißig
number-39 = neununddreißig
number-40 = vierzig
number-41 = einundvierzig
number-42 = zweiundvierzig
number-43 = dreiundvierzig
number-44 = vierundvierzig
number-45 = fünfundvierzig
number-46 = sechsundvierzig
number-47 = siebenundvierzig
number-48 = achtundvierzig
number-49 = neunundvierzig
number-50 = fünfzig
number-51 = einundfünfzig
number-52 = zweiundfünfzig
number-53 = dreiundfünfzig
number-54 = vierundfünfzig
number-55 = fünfundfünfzig
number-56 = sechsundfünfzig
number-57 = siebenundfünfzig
number-58 = achtundfünfzig
number-59 = neunundfünfzig
number-60 = sechzig
number-61 = einundsechzig
number-62 = zweiundsechzig
number-63 = dreiundsechzig
number-64 = vierundsechzig
number-65 = fünfundsechzig
number-66 = sechsundsechzig
number-67 = siebenundsechzig
number-68 = achtundsechzig
number-69 = neunundsechzig
number-70 = siebzig
number-71 = einundsiebzig
number-72 = zweiundsiebzig
number-73 = dreiundsiebzig
number-74 = vierundsiebzig
number-75 = fünfundsiebzig
number-76 = sechsundsiebzig
number-77 = siebenundsiebzig
number-78 = achtundsiebzig
number-79 = neunundsiebzig
number-80 = achtzig
number-81 = einundachtzig
number-82 = zweiundachtzig
number-83 = dreiundachtzig
number-84 = vierundachtzig
number-85 = fünfundachtzig
number-86 = sechsundachtzig
number-87 = siebenundachtzig
number-88 = achtundachtzig
number-89 = neunundachtzig
number-90 = neunzig
number-91 = einundneunzig
number-92 = zweiundneunzig
number-93 = dreiundneunzig
number-94 = vierundneunzig
number-95 = fünfundneunzig
number-96 = sechsundneunzig
number-97 = siebenundneunzig
number-98 = achtundneunzig
number-99 = neunundneunzig

# Before a noun, where that is another word.

number-1-masculine = ein
number-1-feminine = eine

## Lengths of time.

seconds = { $n ->
    [one] { $feminine } Sekunde
   *[other] { $words } Sekunden
}
minutes = { $n ->
    [one] { $feminine } Minute
   *[other] { $words } Minuten
}
minutes-seconds = { $n ->
    [one] { $feminine } Minute { $seconds }
   *[other] { $words } Minuten { $seconds }
}

## Lists: a, b and c.

list-two = { $first } und { $second }
list-more = { $first }, { $rest }

## The opening.

opening-one-block = { $title }: { $facts }. { $total } insgesamt.
opening-one-block-open = { $title }: { $facts }.
opening-blocks = { $title }: { $blocks }. { $total } insgesamt.
opening-blocks-open = { $title }: { $blocks }.
opening-brief = { $title }. { $total } insgesamt.
opening-brief-open = { $title }.
block-facts = { $n ->
    [one] { $rounds }, { $movements }, { $times }
   *[other] { $rounds } mit je { $movements }, { $times }
}
block-facts-uneven = { $n ->
    [one] { $rounds }, { $movements }
   *[other] { $rounds } mit je { $movements }
}
times-on-off = { $work } Arbeit, { $rest } Pause
times-each = je { $work }
times-reps = je { $reps }
times-reps-every = { $reps }, { $every }
times-every = { $work }, { $every }
times-until-key = jede, bis du weitergehst
every-minute = jede Minute
every-length = im Takt: { $length }
about = etwa { $length }
rounds = { $n ->
    [one] { $feminine } Runde
   *[other] { $words } Runden
}
movements = { $n ->
    [one] { $feminine } Übung
   *[other] { $words } Übungen
}
stations = { $n ->
    [one] { $feminine } Station
   *[other] { $words } Stationen
}
repetitions = { $n ->
    [one] { $feminine } Wiederholung
   *[other] { $words } Wiederholungen
}
blocks = { $n ->
    [one] { $masculine } Teil
   *[other] { $words } Teile
}
block-begins = { $title }: { $facts }.
block-begins-brief = { $title }.

you-need = Du brauchst { $items }.
a-item = { $gender ->
    [feminine] eine { $item }
    [neuter] ein { $item }
   *[masculine] einen { $item }
}
one-item = { $gender ->
    [feminine] eine { $item }
    [neuter] ein { $item }
   *[masculine] einen { $item }
}
many-items = { $words } { $items }

caution-space = Mach dir Platz, auch nach oben.
caution-stop = Hör sofort auf, wenn dir die Brust oder ein Gelenk wehtut, wenn dir schwindlig wird, wenn das Herz stolpert oder wenn der Atem in den Pausen nicht ruhiger wird.
caution-emergency = Bei Brustschmerz, der bleibt, bei einem Zusammenbruch, oder wenn Sprache, Sehen oder Kraft plötzlich ausfallen: Wähl den Notruf.
caution-doubt = Im Zweifel frag vorher in der Arztpraxis oder beim Physio nach. Das hier ist kein ärztlicher Rat.
caution-brief = Mach dir Platz, und hör sofort auf bei Schmerz, bei Schwindel, oder wenn der Atem nicht ruhiger wird.
no-warm-up = Aufwärmen ist nicht dabei. Beweg dich vorher fünf bis zehn Minuten locker.
effort-aim = Anstrengung: { $words } von zehn, nie zehn.
effort-aim-easy = Anstrengung: { $words } von zehn, so locker, dass du reden kannst.
effort-aim-all = Gib, was sauber geht, und behalte etwas Luft in Reserve.
leave-weights = Du darfst { $the } jederzeit weglassen.
leave-weights-brief = Ohne Gewicht ist jederzeit in Ordnung.

## The next movement.

name = { $name }.
name-side = { $name }, { $side }.
name-first = Zuerst: { $name }.
name-first-side = Zuerst: { $name }, { $side }.
name-next = Gleich: { $name }.
name-next-side = Gleich: { $name }, { $side }.
name-last = Letzte Übung: { $name }.
name-last-side = Letzte Übung: { $name }, { $side }.
name-round = Runde { $round } beginnt. Zuerst: { $name }.
name-round-side = Runde { $round } beginnt. Zuerst: { $name }, { $side }.
name-round-brief = Runde { $round }: { $name }.
name-round-brief-side = Runde { $round }: { $name }, { $side }.

name-starting = { $name }, { $side } zuerst
side-then = { $side }, dann { $other }
other-half = { $limb }.
other-half-next = Gleich { $limb }.
other-half-next-hold = Gleich { $limb }, { $the } { $hold }.

## Stations: several people at once, so that here it is "ihr".

station-name = Station { $n }: { $name }.
station-name-sides = Station { $n }: { $name }, erst rechts, ab der Hälfte links.
station-cue = Station { $n }: { $text }
station-cue-labelled = Station { $n }. { $text }
stations-begin = Verteilt euch auf die Stationen.
stations-ready = An eure Stationen.
stations-next = Weiter zur nächsten Station.
stations-next-put-down = Legt ab, was ihr haltet, und weiter zur nächsten Station.
stations-round = Runde { $round }: weiter zur nächsten Station.
finish-stations = Legt ab, was ihr haltet. Geschafft.

## Equipment and posture: what must leave the hands comes first.

put-down = Leg { $the } ab.
put-down-place = Leg { $the } { $place } ab.
put-down-way = Leg { $the } weit aus dem Weg.
put-down-brief = { $items } ablegen.
put-down-way-brief = { $items } weit aus dem Weg.
put-down-one = Leg { $one } ab.
put-down-one-place = Leg { $one } { $place } ab.
put-down-one-brief = { $one } ablegen.
take = Nimm { $the } { $hold }.
take-place = Nimm { $the } { $place } auf, { $hold }.
take-brief = { $the } { $hold }.
change-hold = Jetzt { $the } { $hold }.
the-item = { $gender ->
    [feminine] die { $item }
    [neuter] das { $item }
   *[masculine] den { $item }
}
the-items = die { $item }
loaded-name = { $item }
loaded-phrase = { $phrase } mit { $load }
posture-floor = Komm auf den Boden.
posture-floor-brief = Auf den Boden.
posture-kneeling = Komm auf die Knie.
posture-kneeling-brief = Auf die Knie.
posture-standing = Steh in Ruhe auf.
posture-standing-brief = Aufstehen.

then = Dann: { $text }

## Cues that are an offer, never an order.

easier-brief = Leichter: { $text }
harder-brief = Schwerer: { $text }

breathing-lowering-first = Beim Ablassen einatmen, bei der Anstrengung ausatmen.
breathing-effort-first = Bei der Anstrengung ausatmen, auf dem Rückweg einatmen.

## In the rests and at the end.

recovery-1 = Geh ein paar Schritte und lass den Atem ruhiger werden.
recovery-1-brief = Lass den Atem ruhiger werden.
recovery-2 = Lockere Schritte, lang ausatmen.
recovery-2-brief = Lang ausatmen.
recovery-3 = Schüttel die Arme aus und atme tief in den Bauch.
recovery-3-brief = Tief in den Bauch atmen.
recovery-floor = Bleib, wo du bist, und lass den Atem ruhiger werden.
recovery-floor-brief = Lass den Atem ruhiger werden.
progress-round-1 = { $done } geschafft, noch { $left ->
    [eins] eine
   *[other] { $left }
}.
progress-round-2 = { $done } hast du hinter dir, { $left ->
    [eins] eine kommt
   *[other] { $left } kommen
} noch.
progress-round-3 = Noch { $left ->
    [eins] eine
   *[other] { $left }
}, { $done } geschafft.
progress-in-round-1 = { $done } geschafft in dieser Runde, noch { $left ->
    [eins] eine
   *[other] { $left }
}.
progress-in-round-2 = Noch { $left ->
    [eins] eine
   *[other] { $left }
} in dieser Runde.
progress-in-round-3 = Diese Runde: { $done } geschafft, { $left ->
    [eins] eine
   *[other] { $left }
} übrig.
progress-clock-1 = Insgesamt noch etwa { $length }.
progress-clock-2 = Noch etwa { $length }, dann ist Schluss.
progress-clock-3 = Ungefähr { $length } bis zum Ende.
progress-last-round = Das ist die letzte Runde.
progress-half = Die Hälfte hast du hinter dir.
finish-done = Geschafft.
finish-put-down = Leg { $the } ab. Geschafft.
finish-walk = Bleib auf den Beinen und geh, bis dein Atem ruhig ist.
finish-floor = Komm langsam hoch, in deinem Tempo, und geh, bis dein Atem ruhig ist.
finish-faint = Wenn dir schwindlig wird, setz oder leg dich sofort hin.
finish-effort = Wie anstrengend war die ganze Einheit, null bis zehn? Merk dir eine Zahl, jetzt oder später.
finish-effort-brief = Wie anstrengend war es, null bis zehn?

## In the coach's ear alone.

aside-coming = Gleich: { $name }
aside-last = Danach ist Schluss.
aside-left = Noch etwa { $length } bis zum Ende.

## On the keys, while it runs. "Pause" is the rest of the class, so a halt is called otherwise.

said-paused = Angehalten.
said-going-on = Weiter.
said-device-back = Der Ton ist wieder da.
said-louder = Lauter.
said-quieter = Leiser.
said-faster = Schneller.
said-slower = Langsamer.
said-more = Mehr Ansagen.
said-less = Weniger Ansagen.
said-not-now = Jetzt nicht.
said-nothing-yet = Da ist noch nichts.
said-noted = Notiert.
said-how-hard = Wie anstrengend war es, null bis zehn? Drück eine Zahl.
said-goes-on = { $title } geht weiter. { $name }
said-no-easier = Leichter geht es hier nicht.
said-rest = Pause, noch { $left }.
said-round = Runde { $round } von { $rounds }.
said-place-work = { $name } Noch { $left }.
said-place-open = { $name } Bis du weitergehst.
said-place-start = Noch { $left } bis zum Start. Gleich: { $name }
said-place-rest = Pause, noch { $left }. Gleich: { $name }

## The keys, as they are mapped. Parts of a sentence, which begins with a capital.

keys-sentence = { $parts }.
keys-none = Während einer Einheit tut keine Taste etwas.
keys-none-between = Zwischen den Einheiten tut keine Taste etwas.
key-or = { $first } oder { $second }
key-pause-or-resume = { $key }: anhalten und weiter
key-pause = { $key }: anhalten
key-resume = { $key }: weiter
key-skip = { $key }: überspringen
key-back = { $key }: zurück
key-repeat = { $key }: die letzte Ansage noch einmal
key-where = { $key }: wo du bist
key-explain = { $key }: die Übung erklären
key-easier = { $key }: leichter
keys-volume = { $first } und { $second }: lauter und leiser
key-louder = { $key }: lauter
key-quieter = { $key }: leiser
keys-speed = { $first } und { $second }: schneller und langsamer sprechen
key-speech-faster = { $key }: schneller sprechen
key-speech-slower = { $key }: langsamer sprechen
keys-talk = { $first } und { $second }: mehr und weniger Ansagen
key-talk-more = { $key }: mehr Ansagen
key-talk-less = { $key }: weniger Ansagen
keys-figures = die Zifferntasten: am Ende, wie anstrengend es war
key-rate = { $key }: Anstrengung { $words }
key-rate-skip = { $key }: Anstrengung offen lassen
key-next = { $key }: die nächste Einheit
key-previous = { $key }: die Einheit davor
key-start = { $key }: die Einheit beginnen
key-start-session = { $key }: { $session } beginnen
key-help = { $key }: die Tasten noch einmal
key-stop = { $key }: beenden
one-button = Knopf
one-button-running = { $key }: einmal drücken hält an, zweimal überspringt, ein weiterer Druck lässt weiterlaufen.
one-button-between = { $key }: einmal drücken nennt die nächste Einheit, zweimal beginnt sie.

# Keys as one says them: letters are said as they are, figures as numbers.
key-function = F { $n }
key-named-space = Leertaste
key-named-enter = Eingabetaste
key-named-tab = Tabulator
key-named-escape = Escape
key-named-backspace = Rücktaste
key-named-delete = Entfernen
key-named-up = Pfeil hoch
key-named-down = Pfeil runter
key-named-left = Pfeil links
key-named-right = Pfeil rechts
key-named-home = Pos eins
key-named-end = Ende
key-named-page-up = Bild hoch
key-named-page-down = Bild runter
key-named-plus = Plus
key-named-minus = Minus
key-named-equals = Gleichheitszeichen
key-named-underscore = Unterstrich
key-named-comma = Komma
key-named-full-stop = Punkt
key-named-semicolon = Strichpunkt
key-named-colon = Doppelpunkt
key-named-exclamation-mark = Ausrufezeichen
key-named-question-mark = Fragezeichen
key-named-apostrophe = Apostroph
key-named-quotation-mark = Anführungszeichen
key-named-backtick = Gravis
key-named-tilde = Tilde
key-named-caret = Zirkumflex
key-named-at = At-Zeichen
key-named-hash = Raute
key-named-dollar = Dollarzeichen
key-named-percent = Prozentzeichen
key-named-ampersand = Und-Zeichen
key-named-star = Stern
key-named-slash = Schrägstrich
key-named-backslash = umgekehrter Schrägstrich
key-named-bar = senkrechter Strich
key-named-opening-bracket = Klammer auf
key-named-closing-bracket = Klammer zu
key-named-opening-square-bracket = eckige Klammer auf
key-named-closing-square-bracket = eckige Klammer zu
key-named-opening-brace = geschweifte Klammer auf
key-named-closing-brace = geschweifte Klammer zu
key-named-less-than = Kleiner-als
key-named-greater-than = Größer-als

## Where a session was left, at the next start.

stopped-at = { $title } brach bei dieser Übung ab: { $name }.
stopped-at-round = { $title } brach in Runde { $round } ab, bei dieser Übung: { $name }.
stopped-after = { $title } brach nach dieser Übung ab: { $name }.
stopped-after-round = { $title } brach in Runde { $round } ab, nach dieser Übung: { $name }.

start-goes-on = Mit Start geht es dort weiter.

## Choosing a session by ear, in the background.

choose-hint = { $next } nennt die nächste Einheit, { $start } beginnt sie.
said-nothing-runs = Es läuft keine Einheit.
no-session = Eine Einheit namens { $title } gibt es nicht.
no-session-near = Eine Einheit namens { $title } gibt es nicht. Meinst du { $near }?
last-good-one = Es gilt die letzte fehlerfreie Fassung.
session-begins = { $title } beginnt.
session-over = { $title } ist zu Ende.

## News of the folder that is watched.

session-waits = { $title } steht bereit: { $what }, { $length }.
session-waits-open = { $title } steht bereit: { $what }.
rounds-of = { $rounds } mit je { $uses }
session-fault = { $title } hat einen Fehler: { $message }.
session-fault-line = { $title } hat einen Fehler in Zeile { $line }: { $message }.
session-fault-movement = { $title } hat einen Fehler in der Übung { $movement }, Zeile { $line }: { $message }.
session-fault-movement-whole = { $title } hat einen Fehler in der Übung { $movement }: { $message }.
session-gone = { $title } ist nicht mehr da.
sessions-none = keine Einheit steht bereit
sessions-waiting = { $n ->
    [one] { $feminine } Einheit steht bereit
   *[other] { $words } Einheiten stehen bereit
}
sessions-faulty = { $n ->
    [one] { $feminine } hat einen Fehler
   *[other] { $words } haben Fehler
}
sessions-gone = { $n ->
    [one] { $feminine } ist nicht mehr da
   *[other] { $words } sind nicht mehr da
}
sessions-changed = { $n ->
    [one] { $feminine } Einheit ist anders
   *[other] { $words } Einheiten sind anders
}
sessions-told = { $facts }.
sessions-changed-told = { $changed }: { $facts }.

## Nach einer Probe: "Zwei Stellen waren zu lang, die längste um vier Sekunden."

rehearsed-well = Alles hat in die Zeit gepasst.
rehearsed-over = { $n ->
    [one] { $feminine } Stelle war zu lang
   *[other] { $words } Stellen waren zu lang
}
rehearsed = { $over }, die längste um { $length }.
rehearsed-silent = { $n ->
    [one] { $feminine } Ansage, die sein muss, war nicht zu hören.
   *[other] { $words } Ansagen, die sein müssen, waren nicht zu hören.
}

## Beim Üben, auf eine Taste: wie viel Hilfe es ab hier gibt, und wo man ist.

rehearse-whole = Jeder Abschnitt ist zuerst zu hören.
rehearse-first-words = Nur die ersten Wörter.
rehearse-name = Nur die Namen.
rehearse-marks = Nur Zahlen und Töne.
rehearse-again = Dieser Abschnitt immer wieder.
rehearse-on = Weiter mit dem nächsten.
rehearse-where = Abschnitt { $at } von { $of }.

## Die Töne, wie `tones` sie nennt.

tone-start = Die Übung beginnt.
tone-end = Die Übung endet.
tone-fault = Etwas konnte nicht gesprochen werden.

## Auf dem Bildschirm und auf Papier: Untertitel und Kapitel.

caption-start-tone = Startton
caption-end-tone = Schlusston
caption-fault-tone = Fehlerton
caption-music = Musik
caption-sync-tone = Synchronton
caption-left-out = hier nicht zu hören: { $text }
caption-not-recorded = nicht aufgezeichnet
caption-record-ends = hier endet die Aufzeichnung
chapter-opening = Einleitung
chapter-block = Teil { $number }
chapter-round = Runde { $number } von { $of }
chapter-stations = Alle Stationen
chapter-stations-turn = Alle Stationen, { $number } von { $of }
chapter-finish = Abschluss
sheet-coach = Für die Leitung
sheet-participants = Für alle, die mitmachen
sheet-facts = Insgesamt { $total }. Stimme: { $voice }.
sheet-timeline = Was wann zu hören ist
sheet-left-out = Weggelassen
sheet-nothing = Nichts.
sheet-work = Arbeit
sheet-rest = Pause
sheet-around = davor und danach
sheet-until-key = bis zu einem Tastendruck
sheet-count = eine Zahl
sheet-line = eine Ansage, so lang wie sie dauert
sheet-safety = für die Sicherheit
sheet-ready = Bereitlegen
sheet-exercises = Die Übungen
sheet-stations = Die Stationen
sheet-start = Start
sheet-how = Ablauf
sheet-care = Achtung
sheet-easier = Leichter
sheet-cautions = Zu deiner Sicherheit
sheet-mirrored = Was einseitig ist, steht hier für die erste Seite; für die andere gilt es gespiegelt.
