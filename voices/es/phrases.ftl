# What the program itself says, in Spanish: "tú", in words that are used on both sides of the
# Atlantic. Movements and sessions bring their own words. A place ("en el extremo derecho del banco")
# and a hold ("en la mano derecha") come with their preposition.

## Marks: a count always means that the work changes now.

# Heard for so many ms with espeak-ng 1.51, voice es, at its own speed, from the first sample above 1 % to
# the last: tres 309, dos 280, uno 250, mitad 408, quedan diez 662, la última 547, cambia de lado
# 821; the longest number up to thirty 692 (veinticinco). A count has a second, a number at least
# two.

count-3 = tres
count-2 = dos
count-1 = uno
halfway = mitad
ten-to-go = quedan diez
thirty-seconds = quedan treinta segundos
last-repetition = la última
change-sides = cambia de lado
begin-by-key = Pulsa { $key } para empezar.
until-key = Pulsa { $key } para seguir.
begin-when-told = Avisa para empezar.
until-told = Avisa para seguir.
minutes-to-go = { $n ->
    [one] queda { $masculine } minuto
   *[other] quedan { $masculine } minutos
}

## Sides, always the listener's own: the limb is named, so that the gender is right.

side-right = lado derecho
side-left = lado izquierdo
side-arm-right = brazo derecho
side-arm-left = brazo izquierdo
side-leg-right = pierna derecha
side-leg-left = pierna izquierda
limb-right = lado derecho
limb-left = lado izquierdo
limb-arm-right = brazo derecho
limb-arm-left = brazo izquierdo
limb-leg-right = pierna derecha
limb-leg-left = pierna izquierda

## Numbers as words; the ones not listed are said as digits.

number-0 = cero
number-1 = uno
number-2 = dos
number-3 = tres
number-4 = cuatro
number-5 = cinco
number-6 = seis
number-7 = siete
number-8 = ocho
number-9 = nueve
number-10 = diez
number-11 = once
number-12 = doce
number-13 = trece
number-14 = catorce
number-15 = quince
number-16 = dieciséis
number-17 = diecisiete
number-18 = dieciocho
number-19 = diecinueve
number-20 = veinte
number-21 = veintiuno
number-22 = veintidós
number-23 = veintitrés
number-24 = veinticuatro
number-25 = veinticinco
number-26 = veintiséis
number-27 = veintisiete
number-28 = veintiocho
number-29 = veintinueve
number-30 = treinta
number-31 = treinta y uno
number-32 = treinta y dos
number-33 = treinta y tres
number-34 = treinta y cuatro
number-35 = treinta y cinco
number-36 = treinta y seis
number-37 = treinta y siete
number-38 = treinta y ocho
number-39 = treinta y nueve
number-40 = cuarenta
number-41 = cuarenta y uno
number-42 = cuarenta y dos
number-43 = cuarenta y tres
number-44 = cuarenta y cuatro
number-45 = cuarenta y cinco
number-46 = cuarenta y seis
number-47 = cuarenta y siete
number-48 = cuarenta y ocho
number-49 = cuarenta y nueve
number-50 = cincuenta
number-51 = cincuenta y uno
number-52 = cincuenta y dos
number-53 = cincuenta y tres
number-54 = cincuenta y cuatro
number-55 = cincuenta y cinco
number-56 = cincuenta y seis
number-57 = cincuenta y siete
number-58 = cincuenta y ocho
number-59 = cincuenta y nueve
number-60 = sesenta
number-61 = sesenta y uno
number-62 = sesenta y dos
number-63 = sesenta y tres
number-64 = sesenta y cuatro
number-65 = sesenta y cinco
number-66 = sesenta y seis
number-67 = sesenta y siete
number-68 = sesenta y ocho
number-69 = sesenta y nueve
number-70 = setenta
number-71 = setenta y uno
number-72 = setenta y dos
number-73 = setenta y tres
number-74 = setenta y cuatro
number-75 = setenta y cinco
number-76 = setenta y seis
number-77 = setenta y siete
number-78 = setenta y ocho
number-79 = setenta y nueve
number-80 = ochenta
number-81 = ochenta y uno
number-82 = ochenta y dos
number-83 = ochenta y tres
number-84 = ochenta y cuatro
number-85 = ochenta y cinco
number-86 = ochenta y seis
number-87 = ochenta y siete
number-88 = ochenta y ocho
number-89 = ochenta y nueve
number-90 = noventa
number-91 = noventa y uno
number-92 = noventa y dos
number-93 = noventa y tres
number-94 = noventa y cuatro
number-95 = noventa y cinco
number-96 = noventa y seis
number-97 = noventa y siete
number-98 = noventa y ocho
number-99 = noventa y nueve

# Before a noun, where that is another word.

number-1-masculine = un
number-1-feminine = una
number-21-masculine = veintiún
number-21-feminine = veintiuna
number-31-masculine = treinta y un
number-31-feminine = treinta y una
number-41-masculine = cuarenta y un
number-41-feminine = cuarenta y una
number-51-masculine = cincuenta y un
number-51-feminine = cincuenta y una
number-61-masculine = sesenta y un
number-61-feminine = sesenta y una
number-71-masculine = setenta y un
number-71-feminine = setenta y una
number-81-masculine = ochenta y un
number-81-feminine = ochenta y una
number-91-masculine = noventa y un
number-91-feminine = noventa y una

## Lengths of time.

seconds = { $n ->
    [one] { $masculine } segundo
   *[other] { $masculine } segundos
}
minutes = { $n ->
    [one] { $masculine } minuto
   *[other] { $masculine } minutos
}
minutes-seconds = { $n ->
    [one] { $masculine } minuto y { $rest }
   *[other] { $masculine } minutos y { $rest }
}

## Lists: a, b and c.

list-two = { $first } y { $second }
list-more = { $first }, { $rest }

## The opening.

opening-one-block = { $title }: { $facts }. { $total } en total.
opening-one-block-open = { $title }: { $facts }.
opening-blocks = { $title }: { $blocks }. { $total } en total.
opening-blocks-open = { $title }: { $blocks }.
opening-brief = { $title }. { $total } en total.
opening-brief-open = { $title }.
block-facts = { $rounds } de { $movements }, { $times }
block-facts-uneven = { $rounds } de { $movements }
times-on-off = { $work } de trabajo, { $rest } de descanso
times-each = { $work } por ejercicio
times-reps = { $reps } por ejercicio
times-reps-every = { $reps } { $every }
times-every = { $work } { $every }
times-until-key = cada ejercicio hasta que sigas
every-minute = cada minuto
every-length = en intervalos de { $length }
about = cerca de { $length }
rounds = { $n ->
    [one] { $feminine } ronda
   *[other] { $feminine } rondas
}
movements = { $n ->
    [one] { $masculine } ejercicio
   *[other] { $masculine } ejercicios
}
stations = { $n ->
    [one] { $feminine } estación
   *[other] { $feminine } estaciones
}
repetitions = { $n ->
    [one] { $feminine } repetición
   *[other] { $feminine } repeticiones
}
blocks = { $n ->
    [one] { $feminine } parte
   *[other] { $feminine } partes
}
block-begins = { $title }: { $facts }.
block-begins-brief = { $title }.

you-need = Necesitas { $items }.
a-item = { $gender ->
    [feminine] una { $item }
   *[masculine] un { $item }
}
one-item = { $gender ->
    [feminine] una { $item }
   *[masculine] un { $item }
}
many-items = { $words } { $items }

caution-space = Despeja el suelo y el espacio por encima de ti.
caution-stop = Para enseguida si te duele el pecho o una articulación, si te mareas, si el corazón late a destiempo o si en los descansos no recuperas el aliento.
caution-emergency = Dolor de pecho que no cede, un desmayo, o perder de golpe el habla, la vista o la fuerza: llama a emergencias.
caution-doubt = Si tienes dudas, consulta antes con un médico o un fisioterapeuta. Esto no es un consejo médico.
caution-brief = Despeja tu espacio, y para enseguida si hay dolor o mareo, o si no recuperas el aliento.
no-warm-up = Esta sesión no trae calentamiento. Antes, muévete suave de cinco a diez minutos.
effort-aim = Esfuerzo: { $words } de diez, nunca diez.
effort-aim-easy = Esfuerzo: { $words } de diez, tan suave que puedas hablar.
effort-aim-all = Trabaja fuerte, y guarda siempre algo de aire.
leave-weights = Puedes dejar { $the } en el suelo cuando quieras.
leave-weights-brief = Sin peso también vale, cuando quieras.

## The next movement.

name = { $name }.
name-side = { $name }, { $side }.
name-first = Primero: { $name }.
name-first-side = Primero: { $name }, { $side }.
name-next = Después: { $name }.
name-next-side = Después: { $name }, { $side }.
name-last = Último ejercicio: { $name }.
name-last-side = Último ejercicio: { $name }, { $side }.
name-round = La ronda { $round } empieza con: { $name }.
name-round-side = La ronda { $round } empieza con: { $name }, { $side }.
name-round-brief = Ronda { $round }: { $name }.
name-round-brief-side = Ronda { $round }: { $name }, { $side }.

name-starting = { $name }, primero { $side }
side-then = { $side }, luego { $other }
other-half = { $limb }.
other-half-next = Después, { $limb }.
other-half-next-hold = Después, { $limb }, { $the } { $hold }.

## Stations: several people at once.

station-name = Estación { $n }: { $name }.
station-name-sides = Estación { $n }: { $name }, primero la derecha, desde la mitad la izquierda.
station-cue = Estación { $n }: { $text }
station-cue-labelled = Estación { $n }, { $text }
stations-begin = Una persona en cada estación.
stations-ready = Cada persona a su estación.
stations-next = A la siguiente estación.
stations-next-put-down = Las cosas al suelo, y a la siguiente estación.
stations-round = Ronda { $round }: a la siguiente estación.
finish-stations = Las cosas al suelo. Hemos terminado.

## Equipment and posture: what must leave the hands comes first.

put-down = Deja { $the } en el suelo.
put-down-place = Deja { $the } { $place }.
put-down-way = Aparta { $the }, lejos de ti.
put-down-brief = Deja { $the }.
put-down-way-brief = Aparta { $the }.
put-down-one = Deja { $one } en el suelo.
put-down-one-place = Deja { $one } { $place }.
put-down-one-brief = Deja { $one }.
take = Toma { $the } { $hold }.
take-place = Recoge { $the } { $place }, { $hold }.
take-brief = { $the } { $hold }.
change-hold = Ahora { $the } { $hold }.
the-item = { $gender ->
    [feminine] la { $item }
   *[masculine] el { $item }
}
the-items = { $gender ->
    [feminine] las { $item }
   *[masculine] los { $item }
}
loaded-name = { $item }
loaded-phrase = { $phrase } de { $load }
posture-floor = Baja al suelo.
posture-floor-brief = Al suelo.
posture-kneeling = Ponte de rodillas.
posture-kneeling-brief = De rodillas.
posture-standing = Levántate sin prisa.
posture-standing-brief = De pie.

then = Luego { $text }

## Cues that are an offer, never an order.

easier-brief = Más fácil: { $text }
harder-brief = Más difícil: { $text }

breathing-lowering-first = Inhala al bajar, exhala en el esfuerzo.
breathing-effort-first = Exhala en el esfuerzo, inhala al volver.

## In the rests and at the end.

recovery-1 = Camina un poco y recupera el aliento.
recovery-1-brief = Recupera el aliento.
recovery-2 = Pasos suaves, suelta el aire despacio.
recovery-2-brief = Exhala largo.
recovery-3 = Sacude los brazos y respira con el vientre.
recovery-3-brief = Respira con el vientre.
recovery-floor = Quédate donde estás y recupera el aliento.
recovery-floor-brief = Recupera el aliento.
progress-round-1 = { $done } hechos, { $left ->
    [uno] falta uno
   *[other] faltan { $left }
}.
progress-round-2 = Ya llevas { $done }, { $left ->
    [uno] queda uno
   *[other] quedan { $left }
}.
progress-round-3 = { $left ->
    [uno] Falta uno
   *[other] Faltan { $left }
}, { $done } hechos.
progress-in-round-1 = { $done } hechos en esta ronda, { $left ->
    [uno] falta uno
   *[other] faltan { $left }
}.
progress-in-round-2 = { $left ->
    [uno] Queda uno
   *[other] Quedan { $left }
} en esta ronda.
progress-in-round-3 = Esta ronda: { $done } hechos, { $left ->
    [uno] falta uno
   *[other] faltan { $left }
}.
progress-clock-1 = { $n ->
    [one] Queda
   *[other] Quedan
} cerca de { $length }.
progress-clock-2 = En { $length }, aproximadamente, habrás terminado.
progress-clock-3 = { $length }, más o menos, hasta el final.
progress-last-round = Esta es la última ronda.
progress-half = Ya llevas la mitad de la sesión.
finish-done = Has terminado.
finish-put-down = Deja { $the } en el suelo. Has terminado.
finish-walk = Quédate de pie y camina hasta que respires con calma.
finish-floor = Levántate despacio, a tu ritmo, y camina hasta que respires con calma.
finish-faint = Si te mareas, siéntate o recuéstate enseguida.
finish-effort = De cero a diez, ¿cuánto esfuerzo te pidió la sesión entera? Anota un número, ahora o después.
finish-effort-brief = ¿Cuánto esfuerzo fue, de cero a diez?

## In the coach's ear alone.

aside-coming = Después: { $name }
aside-last = Después viene el final.
aside-left = Hasta el final, más o menos { $length }.

## On the keys, while it runs.

said-paused = En pausa.
said-going-on = Seguimos.
said-device-back = Ha vuelto el sonido.
said-louder = Más alto.
said-quieter = Más bajo.
said-faster = Más rápido.
said-slower = Más lento.
said-more = Más indicaciones.
said-less = Menos indicaciones.
said-not-now = Ahora no.
said-nothing-yet = Todavía no hay nada.
said-noted = Anotado.
said-how-hard = ¿Cuánto esfuerzo fue, de cero a diez? Pulsa un número.
said-goes-on = { $title } continúa. { $name }
said-no-easier = No hay una opción más fácil.
said-rest = Descanso, { $left }.
said-round = Ronda { $round } de { $rounds }.
said-place-work = { $name } { $Left } más.
said-place-open = { $name } Hasta que sigas.
said-place-start = Empiezas en { $left }. Después: { $name }
said-place-rest = Descanso, { $left }. Después: { $name }

## The keys, as they are mapped. Parts of a sentence, which begins with a capital.

keys-sentence = { $parts }.
keys-none = Durante una sesión ninguna tecla hace nada.
keys-none-between = Entre sesiones ninguna tecla hace nada.
key-or = { $first } o { $second }
key-pause-or-resume = { $key } para y sigue
key-pause = { $key } para
key-resume = { $key } sigue
key-skip = { $key } salta al siguiente
key-back = { $key } vuelve atrás
key-repeat = { $key } repite lo último
key-where = { $key } dice dónde estás
key-explain = { $key } explica el ejercicio
key-easier = { $key } da la opción más fácil
keys-volume = { $first } y { $second } cambian el volumen
key-louder = { $key } sube el volumen
key-quieter = { $key } baja el volumen
keys-speed = { $first } y { $second } cambian la velocidad de la voz
key-speech-faster = { $key } habla más rápido
key-speech-slower = { $key } habla más lento
keys-talk = { $first } y { $second } cambian cuánto se dice
key-talk-more = { $key } dice más
key-talk-less = { $key } dice menos
keys-figures = las teclas de números dicen al final cuánto esfuerzo fue
key-rate = { $key } dice esfuerzo { $words }
key-rate-skip = { $key } deja el esfuerzo sin decir
key-next = { $key } nombra la sesión siguiente
key-previous = { $key } nombra la sesión anterior
key-start = { $key } empieza la sesión
key-start-session = { $key } empieza { $session }
key-help = { $key } repite las teclas
key-stop = { $key } termina
one-button = el botón
one-button-running = { $key }: una pulsación para, dos saltan al siguiente, otra hace seguir.
one-button-between = { $key }: una pulsación nombra la sesión siguiente, dos la empiezan.

# Keys as one says them: letters are said as they are, figures as numbers.
key-function = F { $n }
key-named-space = espacio
key-named-enter = intro
key-named-tab = tabulador
key-named-escape = escape
key-named-backspace = retroceso
key-named-delete = suprimir
key-named-up = flecha arriba
key-named-down = flecha abajo
key-named-left = flecha izquierda
key-named-right = flecha derecha
key-named-home = inicio
key-named-end = fin
key-named-page-up = retroceder página
key-named-page-down = avanzar página
key-named-plus = más
key-named-minus = menos
key-named-equals = igual
key-named-underscore = guion bajo
key-named-comma = coma
key-named-full-stop = punto
key-named-semicolon = punto y coma
key-named-colon = dos puntos
key-named-exclamation-mark = signo de exclamación
key-named-question-mark = signo de interrogación
key-named-apostrophe = apóstrofo
key-named-quotation-mark = comillas
key-named-backtick = acento grave
key-named-tilde = virgulilla
key-named-caret = acento circunflejo
key-named-at = arroba
key-named-hash = almohadilla
key-named-dollar = signo de dólar
key-named-percent = por ciento
key-named-ampersand = signo et
key-named-star = asterisco
key-named-slash = barra
key-named-backslash = barra invertida
key-named-bar = barra vertical
key-named-opening-bracket = abre paréntesis
key-named-closing-bracket = cierra paréntesis
key-named-opening-square-bracket = abre corchete
key-named-closing-square-bracket = cierra corchete
key-named-opening-brace = abre llave
key-named-closing-brace = cierra llave
key-named-less-than = menor que
key-named-greater-than = mayor que

## Where a session was left, at the next start.

stopped-at = { $title } se detuvo en este ejercicio: { $name }.
stopped-at-round = { $title } se detuvo en la ronda { $round }, en este ejercicio: { $name }.
stopped-after = { $title } se detuvo después de este ejercicio: { $name }.
stopped-after-round = { $title } se detuvo en la ronda { $round }, después de este ejercicio: { $name }.

start-goes-on = Con empezar se sigue desde allí.

## Choosing a session by ear, in the background.

choose-hint = { $next } nombra la sesión siguiente, { $start } la empieza.
said-nothing-runs = No hay ninguna sesión en marcha.
no-session = No hay ninguna sesión llamada { $title }.
no-session-near = No hay ninguna sesión llamada { $title }. ¿Querías decir { $near }?
last-good-one = Se usa la última versión buena.
session-begins = { $title } empieza.
session-over = { $title } ha terminado.

## News of the folder that is watched.

session-waits = La sesión { $title } está lista: { $what }, { $length }.
session-waits-open = La sesión { $title } está lista: { $what }.
rounds-of = { $rounds } de { $n }
session-fault = La sesión { $title } tiene un error: { $message }.
session-fault-line = La sesión { $title } tiene un error en la línea { $line }: { $message }.
session-fault-movement = La sesión { $title } tiene un error en su ejercicio { $movement }, línea { $line }: { $message }.
session-fault-movement-whole = La sesión { $title } tiene un error en su ejercicio { $movement }: { $message }.
session-gone = La sesión { $title } ya no está.
sessions-none = no hay ninguna sesión lista
sessions-waiting = { $n ->
    [one] { $feminine } sesión está lista
   *[other] { $feminine } sesiones están listas
}
sessions-faulty = { $n ->
    [one] { $feminine } tiene un error
   *[other] { $feminine } tienen errores
}
sessions-gone = { $n ->
    [one] { $feminine } ya no está
   *[other] { $feminine } ya no están
}
sessions-changed = { $n ->
    [one] { $feminine } sesión ha cambiado
   *[other] { $feminine } sesiones han cambiado
}
sessions-told = { $facts }.
sessions-changed-told = { $changed }: { $facts }.

## Tras un ensayo: "Dos partes se alargaron, la peor cuatro segundos."

rehearsed-well = Todo cupo en su tiempo.
rehearsed-over = { $n ->
    [one] { $feminine } parte se alargó
   *[other] { $feminine } partes se alargaron
}
rehearsed = { $over }, la peor { $length }.
rehearsed-silent = { $n ->
    [one] { $feminine } frase obligatoria no se oyó.
   *[other] { $feminine } frases obligatorias no se oyeron.
}

## Al ensayar, en respuesta a una tecla: cuánta ayuda hay desde aquí, y por dónde se va.

rehearse-whole = Cada parte se oye primero.
rehearse-first-words = Solo las primeras palabras.
rehearse-name = Solo los nombres.
rehearse-marks = Solo cuentas y tonos.
rehearse-again = Esta parte una y otra vez.
rehearse-on = Sigue la siguiente.
rehearse-where = Parte { $at } de { $of }.

## Los tonos, como los nombra `tones`.

tone-start = Empieza un ejercicio.
tone-end = Termina un ejercicio.
tone-fault = Algo no se pudo decir.

## En pantalla y en papel: subtítulos y capítulos.

caption-start-tone = tono de inicio
caption-end-tone = tono de fin
caption-fault-tone = tono de fallo
caption-music = música
caption-sync-tone = tono de sincronización
caption-left-out = aquí no se oye: { $text }
caption-not-recorded = sin registrar
caption-record-ends = aquí acaba el registro
chapter-opening = Introducción
chapter-block = Parte { $number }
chapter-round = Ronda { $number } de { $of }
chapter-stations = Todas las estaciones
chapter-stations-turn = Todas las estaciones, { $number } de { $of }
chapter-finish = Final
sheet-coach = Para quien dirige
sheet-participants = Para quienes entrenan
sheet-facts = { $total } en total. Voz: { $voice }.
sheet-timeline = Qué se oye y cuándo
sheet-left-out = Lo que no se dice
sheet-nothing = Nada.
sheet-work = trabajo
sheet-rest = Descanso
sheet-around = antes y después
sheet-until-key = hasta que se pulse una tecla
sheet-count = una cuenta
sheet-line = una frase, con lo que dura
sheet-safety = por seguridad
sheet-ready = Ten a mano
sheet-exercises = Los ejercicios
sheet-stations = Las estaciones
sheet-start = Posición inicial
sheet-how = Movimiento
sheet-care = Cuidado
sheet-easier = Más fácil
sheet-cautions = Por tu seguridad
sheet-mirrored = Lo que se hace por lados está escrito para el primero; para el otro, al revés.
