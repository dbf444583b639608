# What the program itself says, in French: "tu", as one speaks in a class. Movements and sessions
# bring their own words. A place ("au bout droit du banc") and a hold ("dans la main droite") come
# with their preposition.

## Marks: a count always means that the work changes now.

# Heard for so many ms with espeak-ng 1.51, voice fr-fr, at its own speed, from the first sample
# above 1 % to the last: trois 272, deux 163, un 167, mi-temps 328, encore dix 586, la dernière 628,
# change de côté 718; the longest number up to thirty 569 (vingt-quatre). A count has a second, a
# number at least two.

count-3 = trois
count-2 = deux
count-1 = un
halfway = mi-temps
ten-to-go = encore dix
thirty-seconds = encore trente secondes
last-repetition = la dernière
change-sides = change de côté
begin-by-key = Appuie sur { $key } pour commencer.
until-key = Appuie sur { $key } pour continuer.
begin-when-told = Fais signe pour commencer.
until-told = Fais signe pour continuer.
minutes-to-go = { $n ->
    [one] encore { $feminine } minute
   *[other] encore { $feminine } minutes
}

## Sides, always the listener's own: the limb is named, so that the gender is right.

side-right = côté droit
side-left = côté gauche
side-arm-right = bras droit
side-arm-left = bras gauche
side-leg-right = jambe droite
side-leg-left = jambe gauche
limb-right = côté droit
limb-left = côté gauche
limb-arm-right = bras droit
limb-arm-left = bras gauche
limb-leg-right = jambe droite
limb-leg-left = jambe gauche

## Numbers as words; the ones not listed are said as digits.

number-0 = zéro
number-1 = un
number-2 = deux
number-3 = trois
number-4 = quatre
number-5 = cinq
number-6 = six
number-7 = sept
number-8 = huit
number-9 = neuf
number-10 = dix
number-11 = onze
number-12 = douze
number-13 = treize
number-14 = quatorze
number-15 = quinze
number-16 = seize
number-17 = dix-sept
number-18 = dix-huit
number-19 = dix-neuf
number-20 = vingt
number-21 = vingt et un
number-22 = vingt-deux
number-23 = vingt-trois
number-24 = vingt-quatre
number-25 = vingt-cinq
number-26 = vingt-six
number-27 = vingt-sept
number-28 = vingt-huit
number-29 = vingt-neuf
number-30 = trente
number-31 = trente et un
number-32 = trente-deux
number-33 = trente-trois
number-34 = trente-quatre
number-35 = trente-cinq
number-36 = trente-six
number-37 = trente-sept
number-38 = trente-huit
number-39 = trente-neuf
number-40 = quarante
number-41 = quarante et un
number-42 = quarante-deux
number-43 = quarante-trois
number-44 = quarante-quatre
number-45 = quarante-cinq
number-46 = quarante-six
number-47 = quarante-sept
number-48 = quarante-huit
number-49 = quarante-neuf
number-50 = cinquante
number-51 = cinquante et un
number-52 = cinquante-deux
number-53 = cinquante-trois
number-54 = cinquante-quatre
number-55 = cinquante-cinq
number-56 = cinquante-six
number-57 = cinquante-sept
number-58 = cinquante-huit
number-59 = cinquante-neuf
number-60 = soixante
number-61 = soixante et un
number-62 = soixante-deux
number-63 = soixante-trois
number-64 = soixante-quatre
number-65 = soixante-cinq
number-66 = soixante-six
number-67 = soixante-sept
number-68 = soixante-huit
number-69 = soixante-neuf
number-70 = soixante-dix
number-71 = soixante et onze
number-72 = soixante-douze
number-73 = soixante-treize
number-74 = soixante-quatorze
number-75 = soixante-quinze
number-76 = soixante-seize
number-77 = soixante-dix-sept
number-78 = soixante-dix-huit
number-79 = soixante-dix-neuf
number-80 = quatre-vingts
number-81 = quatre-vingt-un
number-82 = quatre-vingt-deux
number-83 = quatre-vingt-trois
number-84 = quatre-vingt-quatre
number-85 = quatre-vingt-cinq
number-86 = quatre-vingt-six
number-87 = quatre-vingt-sept
number-88 = quatre-vingt-huit
number-89 = quatre-vingt-neuf
number-90 = quatre-vingt-dix
number-91 = quatre-vingt-onze
number-92 = quatre-vingt-douze
number-93 = quatre-vingt-treize
number-94 = quatre-vingt-quatorze
number-95 = quatre-vingt-quinze
number-96 = quatre-vingt-seize
number-97 = quatre-vingt-dix-sept
number-98 = quatre-vingt-dix-huit
number-99 = quatre-vingt-dix-neuf

# Before a noun, where that is another word.

number-1-feminine = une
number-21-feminine = vingt et une
number-31-feminine = trente et une
number-41-feminine = quarante et une
number-51-feminine = cinquante et une
number-61-feminine = soixante et une
number-81-feminine = quatre-vingt-une

## Lengths of time.

seconds = { $n ->
    [one] { $feminine } seconde
   *[other] { $feminine } secondes
}
minutes = { $n ->
    [one] { $feminine } minute
   *[other] { $feminine } minutes
}
minutes-seconds = { $n ->
    [one] { $feminine } minute { $seconds }
   *[other] { $feminine } minutes { $seconds }
}

## Lists: a, b and c.

list-two = { $first } et { $second }
list-more = { $first }, { $rest }

## The opening.

opening-one-block = { $title } : { $facts }. { $total } en tout.
opening-one-block-open = { $title } : { $facts }.
opening-blocks = { $title } : { $blocks }. { $total } en tout.
opening-blocks-open = { $title } : { $blocks }.
opening-brief = { $title }. { $total } en tout.
opening-brief-open = { $title }.
block-facts = { $n ->
    [one] { $rounds }, { $movements }, { $times }
   *[other] { $rounds }, { $movements } par tour, { $times }
}
block-facts-uneven = { $n ->
    [one] { $rounds }, { $movements }
   *[other] { $rounds }, { $movements } par tour
}
times-on-off = { $work } d'effort, { $rest } de repos
times-each = { $work } par exercice
times-reps = { $reps } par exercice
times-reps-every = { $reps }, { $every }
times-every = { $work }, { $every }
times-until-key = chaque exercice jusqu'à ton signal
every-minute = chaque minute
every-length = nouveau départ après { $length }
about = environ { $length }
rounds = { $n ->
    [one] { $masculine } tour
   *[other] { $masculine } tours
}
movements = { $n ->
    [one] { $masculine } exercice
   *[other] { $masculine } exercices
}
stations = { $n ->
    [one] { $masculine } atelier
   *[other] { $masculine } ateliers
}
repetitions = { $n ->
    [one] { $feminine } répétition
   *[other] { $feminine } répétitions
}
blocks = { $n ->
    [one] { $feminine } partie
   *[other] { $feminine } parties
}
block-begins = { $title } : { $facts }.
block-begins-brief = { $title }.

you-need = Il te faut { $items }.
a-item = { $gender ->
    [feminine] une { $item }
   *[masculine] un { $item }
}
one-item = { $gender ->
    [feminine] une { $item }
   *[masculine] un { $item }
}
many-items = { $words } { $items }

caution-space = Dégage le sol et l'espace au-dessus de toi.
caution-stop = Arrête tout de suite si tu as mal à la poitrine ou à une articulation, si la tête te tourne, si ton cœur bat de travers, ou si ton souffle ne se calme pas pendant les repos.
caution-emergency = Une douleur à la poitrine qui dure, une perte de connaissance, ou une perte soudaine de la parole, de la vue ou de la force : appelle les secours.
caution-doubt = En cas de doute, vois d'abord un médecin ou un kiné. Ceci n'est pas un avis médical.
caution-brief = Dégage ton espace, et arrête tout de suite en cas de douleur, de vertige, ou si ton souffle ne se calme pas.
no-warm-up = Il n'y a pas d'échauffement dans cette séance. Bouge d'abord en douceur cinq à dix minutes.
effort-aim = Effort : { $words } sur dix, jamais dix.
effort-aim-easy = Effort : { $words } sur dix, assez doux pour parler.
effort-aim-all = Vas-y fort, et garde toujours un souffle de réserve.
leave-weights = Tu peux laisser { $the } au sol à tout moment.
leave-weights-brief = Sans charge, c'est bien aussi, à tout moment.

## The next movement.

name = { $name }.
name-side = { $name }, { $side }.
name-first = D'abord, { $name }.
name-first-side = D'abord, { $name }, { $side }.
name-next = Ensuite, { $name }.
name-next-side = Ensuite, { $name }, { $side }.
name-last = Dernier exercice, { $name }.
name-last-side = Dernier exercice, { $name }, { $side }.
name-round = Le tour { $round } commence par : { $name }.
name-round-side = Le tour { $round } commence par : { $name }, { $side }.
name-round-brief = Tour { $round } : { $name }.
name-round-brief-side = Tour { $round } : { $name }, { $side }.

name-starting = { $name }, d'abord { $side }
side-then = { $side }, puis { $other }
other-half = { $limb }.
other-half-next = Ensuite, { $limb }.
other-half-next-hold = Ensuite, { $limb }, { $the } { $hold }.

## Stations: several people at once, so that here it is "vous".

station-name = Atelier { $n } : { $name }.
station-name-sides = Atelier { $n } : { $name }, à droite d'abord, à gauche dès la moitié.
station-cue = Atelier { $n } : { $text }
station-cue-labelled = Atelier { $n }, { $text }
stations-begin = Une personne par atelier.
stations-ready = À vos ateliers.
stations-next = Passez à l'atelier suivant.
stations-next-put-down = Posez ce que vous tenez, et passez à l'atelier suivant.
stations-round = Tour { $round } : passez à l'atelier suivant.
finish-stations = Posez ce que vous tenez. C'est fini.

## Equipment and posture: what must leave the hands comes first.

put-down = Pose { $the }.
put-down-place = Pose { $the } { $place }.
put-down-way = Pose { $the } bien à l'écart.
put-down-brief = Pose { $the }.
put-down-way-brief = { $the } bien à l'écart.
put-down-one = Pose { $one }.
put-down-one-place = Pose { $one } { $place }.
put-down-one-brief = Pose { $one }.
take = Prends { $the } { $hold }.
take-place = Prends { $the } { $place }, { $hold }.
take-brief = { $the } { $hold }.
change-hold = Maintenant, { $the } { $hold }.
# Before an h too: "l'haltère".
the-item = { $begins ->
    [vowel] l'{ $item }
    [h] l'{ $item }
   *[consonant] { $gender ->
        [feminine] la { $item }
       *[masculine] le { $item }
    }
}
the-items = les { $item }
loaded-name = { $item }
loaded-phrase = { $phrase } de { $load }
posture-floor = Descends au sol.
posture-floor-brief = Au sol.
posture-kneeling = Mets-toi à genoux.
posture-kneeling-brief = À genoux.
posture-standing = Relève-toi sans te presser.
posture-standing-brief = Debout.

then = Puis { $text }

## Cues that are an offer, never an order.

easier-brief = Plus facile : { $text }
harder-brief = Plus dur : { $text }

breathing-lowering-first = Inspire en descendant, souffle dans l'effort.
breathing-effort-first = Souffle dans l'effort, inspire au retour.

## In the rests and at the end.

recovery-1 = Marche un peu et laisse ton souffle se calmer.
recovery-1-brief = Laisse ton souffle se calmer.
recovery-2 = Marche à petits pas, souffle longuement.
recovery-2-brief = Souffle longuement.
recovery-3 = Secoue les bras et respire par le ventre.
recovery-3-brief = Respire par le ventre.
recovery-floor = Reste où tu es et laisse ton souffle se calmer.
recovery-floor-brief = Laisse ton souffle se calmer.
progress-round-1 = { $done } de faits, encore { $left }.
progress-round-2 = Tu en as fait { $done }, il en reste { $left }.
progress-round-3 = Encore { $left }, { $done } de faits.
progress-in-round-1 = { $done } de faits dans ce tour, encore { $left }.
progress-in-round-2 = Encore { $left } dans ce tour.
progress-in-round-3 = Ce tour-ci : { $done } de faits, il en reste { $left }.
progress-clock-1 = Encore environ { $length } en tout.
progress-clock-2 = Dans environ { $length }, c'est fini.
progress-clock-3 = { $length } à peu près jusqu'à la fin.
progress-last-round = C'est le dernier tour.
progress-half = La moitié de la séance est derrière toi.
finish-done = C'est fini.
finish-put-down = Pose { $the }. C'est fini.
finish-walk = Reste debout et marche jusqu'à ce que ton souffle soit calme.
finish-floor = Relève-toi doucement, à ton rythme, et marche jusqu'à ce que ton souffle soit calme.
finish-faint = Si la tête te tourne, assieds-toi ou allonge-toi tout de suite.
finish-effort = La séance entière, c'était dur à combien, de zéro à dix ? Note un chiffre, maintenant ou plus tard.
finish-effort-brief = C'était dur à combien, de zéro à dix ?

## In the coach's ear alone.

aside-coming = Ensuite : { $name }
aside-last = Après, c'est la fin.
aside-left = Encore { $length } environ.

## On the keys, while it runs.

said-paused = En pause.
said-going-on = On continue.
said-device-back = Le son est revenu.
said-louder = Plus fort.
said-quieter = Moins fort.
said-faster = Plus vite.
said-slower = Plus lentement.
said-more = Davantage d'indications.
said-less = Moins d'indications.
said-not-now = Pas maintenant.
said-nothing-yet = Il n'y a encore rien.
said-noted = C'est noté.
said-how-hard = C'était dur à combien, de zéro à dix ? Appuie sur un chiffre.
said-goes-on = { $title } continue. { $name }
said-no-easier = Il n'y a pas d'option plus facile.
said-rest = Repos, { $left }.
said-round = Tour { $round } sur { $rounds }.
said-place-work = { $name } Encore { $left }.
said-place-open = { $name } Jusqu'à ton signal.
said-place-start = Départ dans { $left }. Ensuite : { $name }
said-place-rest = Repos, { $left }. Ensuite : { $name }

## The keys, as they are mapped. Parts of a sentence, which begins with a capital.

keys-sentence = { $parts }.
keys-none = Pendant une séance, aucune touche n'agit.
keys-none-between = Entre les séances, aucune touche n'agit.
key-or = { $first } ou { $second }
key-pause-or-resume = { $key } met en pause et relance
key-pause = { $key } met en pause
key-resume = { $key } relance
key-skip = { $key } passe à la suite
key-back = { $key } revient en arrière
key-repeat = { $key } redit la dernière phrase
key-where = { $key } dit où tu en es
key-explain = { $key } explique l'exercice
key-easier = { $key } donne l'option plus facile
keys-volume = { $first } et { $second } règlent le volume
key-louder = { $key } monte le volume
key-quieter = { $key } baisse le volume
keys-speed = { $first } et { $second } règlent la vitesse de la voix
key-speech-faster = { $key } parle plus vite
key-speech-slower = { $key } parle plus lentement
keys-talk = { $first } et { $second } règlent ce qui est dit
key-talk-more = { $key } en dit plus
key-talk-less = { $key } en dit moins
keys-figures = les touches de chiffres disent à la fin combien c'était dur
key-rate = { $key } dit effort { $words }
key-rate-skip = { $key } ne donne pas d'effort
key-next = { $key } nomme la séance suivante
key-previous = { $key } nomme la séance d'avant
key-start = { $key } lance la séance
key-start-session = { $key } lance { $session }
key-help = { $key } redit les touches
key-stop = { $key } termine
one-button = le bouton
one-button-running = { $key } : un appui met en pause, deux passent à la suite, un autre relance.
one-button-between = { $key } : un appui nomme la séance suivante, deux la lancent.

# Keys as one says them: letters are said as they are, figures as numbers.
key-function = F { $n }
key-named-space = espace
key-named-enter = entrée
key-named-tab = tabulation
key-named-escape = échap
key-named-backspace = retour arrière
key-named-delete = supprimer
key-named-up = flèche haut
key-named-down = flèche bas
key-named-left = flèche gauche
key-named-right = flèche droite
key-named-home = début
key-named-end = fin
key-named-page-up = page précédente
key-named-page-down = page suivante
key-named-plus = plus
key-named-minus = moins
key-named-equals = égal
key-named-underscore = tiret bas
key-named-comma = virgule
key-named-full-stop = point
key-named-semicolon = point-virgule
key-named-colon = deux-points
key-named-exclamation-mark = point d'exclamation
key-named-question-mark = point d'interrogation
key-named-apostrophe = apostrophe
key-named-quotation-mark = guillemet
key-named-backtick = accent grave
key-named-tilde = tilde
key-named-caret = accent circonflexe
key-named-at = arobase
key-named-hash = dièse
key-named-dollar = dollar
key-named-percent = pour cent
key-named-ampersand = esperluette
key-named-star = étoile
key-named-slash = barre oblique
key-named-backslash = barre oblique inverse
key-named-bar = barre verticale
key-named-opening-bracket = parenthèse ouvrante
key-named-closing-bracket = parenthèse fermante
key-named-opening-square-bracket = crochet ouvrant
key-named-closing-square-bracket = crochet fermant
key-named-opening-brace = accolade ouvrante
key-named-closing-brace = accolade fermante
key-named-less-than = inférieur à
key-named-greater-than = supérieur à

## Where a session was left, at the next start.

stopped-at = La séance { $title } s'est arrêtée à cet exercice : { $name }.
stopped-at-round = La séance { $title } s'est arrêtée au tour { $round }, à cet exercice : { $name }.
stopped-after = La séance { $title } s'est arrêtée après cet exercice : { $name }.
stopped-after-round = La séance { $title } s'est arrêtée au tour { $round }, après cet exercice : { $name }.

start-goes-on = Lancer reprend à cet endroit.

## Choosing a session by ear, in the background.

choose-hint = { $next } nomme la séance suivante, { $start } la lance.
said-nothing-runs = Aucune séance n'est en cours.
no-session = Il n'y a pas de séance nommée { $title }.
no-session-near = Il n'y a pas de séance nommée { $title }. Tu voulais dire { $near } ?
last-good-one = C'est la dernière version correcte qui est dite.
session-begins = { $title } commence.
session-over = La séance { $title } est finie.

## News of the folder that is watched.

session-waits = La séance { $title } est prête : { $what }, { $length }.
session-waits-open = La séance { $title } est prête : { $what }.
rounds-of = { $rounds }, { $uses } par tour
session-fault = La séance { $title } a une erreur : { $message }.
session-fault-line = La séance { $title } a une erreur à la ligne { $line } : { $message }.
session-fault-movement = La séance { $title } a une erreur dans son exercice { $movement }, ligne { $line } : { $message }.
session-fault-movement-whole = La séance { $title } a une erreur dans son exercice { $movement } : { $message }.
session-gone = La séance { $title } n'est plus là.
sessions-none = aucune séance n'est prête
sessions-waiting = { $n ->
    [one] { $feminine } séance est prête
   *[other] { $feminine } séances sont prêtes
}
sessions-faulty = { $n ->
    [one] { $feminine } a une erreur
   *[other] { $feminine } ont des erreurs
}
sessions-gone = { $n ->
    [one] { $feminine } n'est plus là
   *[other] { $feminine } ne sont plus là
}
sessions-changed = { $n ->
    [one] { $feminine } séance a changé
   *[other] { $feminine } séances ont changé
}
sessions-told = { $facts }.
sessions-changed-told = { $changed } : { $facts }.

## Après une répétition : « Deux parties ont débordé, la pire de quatre secondes. »

rehearsed-well = Tout a tenu dans le temps.
rehearsed-over = { $n ->
    [one] { $feminine } partie a débordé
   *[other] { $feminine } parties ont débordé
}
rehearsed = { $over }, la pire de { $length }.
rehearsed-silent = { $n ->
    [one] { $feminine } phrase obligatoire n'a pas été entendue.
   *[other] { $feminine } phrases obligatoires n'ont pas été entendues.
}

## Pendant une répétition, en réponse à une touche : l'aide à partir d'ici, et où l'on en est.

rehearse-whole = Chaque passage s'entend d'abord.
rehearse-first-words = Les premiers mots seulement.
rehearse-name = Les noms seulement.
rehearse-marks = Les comptes et les tons seulement.
rehearse-again = Ce passage encore et encore.
rehearse-on = On passe au suivant.
rehearse-where = Passage { $at } sur { $of }.

## Les tons, comme `tones` les nomme.

tone-start = Un exercice commence.
tone-end = Un exercice se termine.
tone-fault = Quelque chose n'a pas pu être dit.

## À l'écran et sur le papier : sous-titres et chapitres.

caption-start-tone = signal de départ
caption-end-tone = signal de fin
caption-fault-tone = signal de défaut
caption-music = musique
caption-sync-tone = signal de synchronisation
caption-left-out = absent ici : { $text }
caption-not-recorded = non enregistré
caption-record-ends = fin de l'enregistrement
chapter-opening = Introduction
chapter-block = Partie { $number }
chapter-round = Tour { $number } sur { $of }
chapter-stations = Tous les ateliers
chapter-stations-turn = Tous les ateliers, { $number } sur { $of }
chapter-finish = Fin
sheet-coach = Pour qui encadre
sheet-participants = Pour qui s'entraîne
sheet-facts = { $total } en tout. Voix : { $voice }.
sheet-timeline = Ce qu'on entend, et quand
sheet-left-out = Laissé de côté
sheet-nothing = Rien.
sheet-work = effort
sheet-rest = Repos
sheet-around = avant et après
sheet-until-key = jusqu'à l'appui sur une touche
sheet-count = un décompte
sheet-line = une phrase, avec sa durée
sheet-safety = pour la sécurité
sheet-ready = À préparer
sheet-exercises = Les exercices
sheet-stations = Les ateliers
sheet-start = Départ
sheet-how = Mouvement
sheet-care = Attention
sheet-easier = Plus facile
sheet-cautions = Pour ta sécurité
sheet-mirrored = Ce qui se fait d'un côté est écrit pour le premier ; pour l'autre, c'est le miroir.
