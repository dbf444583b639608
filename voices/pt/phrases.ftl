# What the program itself says, in Portuguese as it is spoken in Brazil: "você". Movements and
# sessions bring their own words. A place ("na ponta direita do banco") and a hold ("na mão direita")
# come with their preposition.

## Marks: a count always means that the work changes now.

# Heard for so many ms with espeak-ng 1.51, voice pt-br, at its own speed, from the first sample
# above 1 % to the last: três 357, dois 324, um 286, metade 436, faltam dez 695, a última 547,
# troque de lado 727; the longest number up to thirty 934 (vinte e quatro). A count has a second,
# a number at least two.

count-3 = três
count-2 = dois
count-1 = um
halfway = metade
ten-to-go = faltam dez
thirty-seconds = faltam trinta segundos
last-repetition = a última
change-sides = troque de lado
begin-by-key = Aperte { $key } para começar.
until-key = Aperte { $key } para continuar.
begin-when-told = Avise para começar.
until-told = Avise para continuar.
minutes-to-go = { $n ->
    [one] falta { $masculine } minuto
   *[other] faltam { $masculine } minutos
}

## Sides, always the listener's own: the limb is named, so that the gender is right.

side-right = lado direito
side-left = lado esquerdo
side-arm-right = braço direito
side-arm-left = braço esquerdo
side-leg-right = perna direita
side-leg-left = perna esquerda
limb-right = lado direito
limb-left = lado esquerdo
limb-arm-right = braço direito
limb-arm-left = braço esquerdo
limb-leg-right = perna direita
limb-leg-left = perna esquerda

## Numbers as words; the ones not listed are said as digits.

number-0 = zero
number-1 = um
number-2 = dois
number-3 = três
number-4 = quatro
number-5 = cinco
number-6 = seis
number-7 = sete
number-8 = oito
number-9 = nove
number-10 = dez
number-11 = onze
number-12 = doze
number-13 = treze
number-14 = catorze
number-15 = quinze
number-16 = dezesseis
number-17 = dezessete
number-18 = dezoito
number-19 = dezenove
number-20 = vinte
number-21 = vinte e um
number-22 = vinte e dois
number-23 = vinte e três
number-24 = vinte e quatro
number-25 = vinte e cinco
number-26 = vinte e seis
number-27 = vinte e sete
number-28 = vinte e oito
number-29 = vinte e nove
number-30 = trinta
number-31 = trinta e um
number-32 = trinta e dois
number-33 = trinta e três
number-34 = trinta e quatro
number-35 = trinta e cinco
number-36 = trinta e seis
number-37 = trinta e sete
number-38 = trinta e oito
number-39 = trinta e nove
number-40 = quarenta
number-41 = quarenta e um
number-42 = quarenta e dois
number-43 = quarenta e três
number-44 = quarenta e quatro
number-45 = quarenta e cinco
number-46 = quarenta e seis
number-47 = quarenta e sete
number-48 = quarenta e oito
number-49 = quarenta e nove
number-50 = cinquenta
number-51 = cinquenta e um
number-52 = cinquenta e dois
number-53 = cinquenta e três
number-54 = cinquenta e quatro
number-55 = cinquenta e cinco
number-56 = cinquenta e seis
number-57 = cinquenta e sete
number-58 = cinquenta e oito
number-59 = cinquenta e nove
number-60 = sessenta
number-61 = sessenta e um
number-62 = sessenta e dois
number-63 = sessenta e três
number-64 = sessenta e quatro
number-65 = sessenta e cinco
number-66 = sessenta e seis
number-67 = sessenta e sete
number-68 = sessenta e oito
number-69 = sessenta e nove
number-70 = setenta
number-71 = setenta e um
number-72 = setenta e dois
number-73 = setenta e três
number-74 = setenta e quatro
number-75 = setenta e cinco
number-76 = setenta e seis
number-77 = setenta e sete
number-78 = setenta e oito
number-79 = setenta e nove
number-80 = oitenta
number-81 = oitenta e um
number-82 = oitenta e dois
number-83 = oitenta e três
number-84 = oitenta e quatro
number-85 = oitenta e cinco
number-86 = oitenta e seis
number-87 = oitenta e sete
number-88 = oitenta e oito
number-89 = oitenta e nove
number-90 = noventa
number-91 = noventa e um
number-92 = noventa e dois
number-93 = noventa e três
number-94 = noventa e quatro
number-95 = noventa e cinco
number-96 = noventa e seis
number-97 = noventa e sete
number-98 = noventa e oito
number-99 = noventa e nove

# Before a noun, where that is another word.

number-1-feminine = uma
number-2-feminine = duas
number-21-feminine = vinte e uma
number-22-feminine = vinte e duas
number-31-feminine = trinta e uma
number-32-feminine = trinta e duas
number-41-feminine = quarenta e uma
number-42-feminine = quarenta e duas
number-51-feminine = cinquenta e uma
number-52-feminine = cinquenta e duas
number-61-feminine = sessenta e uma
number-62-feminine = sessenta e duas
number-71-feminine = setenta e uma
number-72-feminine = setenta e duas
number-81-feminine = oitenta e uma
number-82-feminine = oitenta e duas
number-91-feminine = noventa e uma
number-92-feminine = noventa e duas

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
    [one] { $masculine } minuto e { $rest }
   *[other] { $masculine } minutos e { $rest }
}

## Lists: a, b and c.

list-two = { $first } e { $second }
list-more = { $first }, { $rest }

## The opening.

opening-one-block = { $title }: { $facts }. { $total } ao todo.
opening-one-block-open = { $title }: { $facts }.
opening-blocks = { $title }: { $blocks }. { $total } ao todo.
opening-blocks-open = { $title }: { $blocks }.
opening-brief = { $title }. { $total } ao todo.
opening-brief-open = { $title }.
block-facts = { $rounds } de { $movements }, { $times }
block-facts-uneven = { $rounds } de { $movements }
times-on-off = { $work } de trabalho, { $rest } de descanso
times-each = { $work } por exercício
times-reps = { $reps } por exercício
times-reps-every = { $reps } { $every }
times-every = { $work } { $every }
times-until-key = cada exercício até você seguir
every-minute = a cada minuto
every-length = em intervalos de { $length }
about = cerca de { $length }
rounds = { $n ->
    [one] { $feminine } rodada
   *[other] { $feminine } rodadas
}
movements = { $n ->
    [one] { $masculine } exercício
   *[other] { $masculine } exercícios
}
stations = { $n ->
    [one] { $feminine } estação
   *[other] { $feminine } estações
}
repetitions = { $n ->
    [one] { $feminine } repetição
   *[other] { $feminine } repetições
}
blocks = { $n ->
    [one] { $feminine } parte
   *[other] { $feminine } partes
}
block-begins = { $title }: { $facts }.
block-begins-brief = { $title }.

you-need = Você precisa de { $items }.
a-item = { $gender ->
    [feminine] uma { $item }
   *[masculine] um { $item }
}
one-item = { $gender ->
    [feminine] uma { $item }
   *[masculine] um { $item }
}
many-items = { $words } { $items }

caution-space = Libere o chão e o espaço acima de você.
caution-stop = Pare na hora se doer o peito ou uma articulação, se sentir tontura, se o coração bater fora do ritmo ou se o fôlego não voltar nos descansos.
caution-emergency = Dor no peito que não passa, um desmaio, ou perder de repente a fala, a visão ou a força: ligue para a emergência.
caution-doubt = Na dúvida, consulte antes um médico ou fisioterapeuta. Isto não é orientação médica.
caution-brief = Libere o seu espaço, e pare na hora se houver dor, tontura ou fôlego que não volta.
no-warm-up = Esta sessão não tem aquecimento. Antes, faça de cinco a dez minutos de movimentos leves.
effort-aim = Esforço: { $words } de dez, nunca dez.
effort-aim-easy = Esforço: { $words } de dez, leve o bastante para conversar.
effort-aim-all = Trabalhe forte, e guarde sempre um pouco de fôlego.
leave-weights = Você pode deixar { $the } no chão a qualquer momento.
leave-weights-brief = Sem peso também vale, a qualquer momento.

## The next movement.

name = { $name }.
name-side = { $name }, { $side }.
name-first = Primeiro, { $name }.
name-first-side = Primeiro, { $name }, { $side }.
name-next = A seguir, { $name }.
name-next-side = A seguir, { $name }, { $side }.
name-last = Último exercício, { $name }.
name-last-side = Último exercício, { $name }, { $side }.
name-round = A rodada { $round } começa com: { $name }.
name-round-side = A rodada { $round } começa com: { $name }, { $side }.
name-round-brief = Rodada { $round }: { $name }.
name-round-brief-side = Rodada { $round }: { $name }, { $side }.

name-starting = { $name }, primeiro { $side }
side-then = { $side }, depois { $other }
other-half = { $limb }.
other-half-next = A seguir, { $limb }.
other-half-next-hold = A seguir, { $limb }, { $the } { $hold }.

## Stations: several people at once, so that here it is "vocês".

station-name = Estação { $n }: { $name }.
station-name-sides = Estação { $n }: { $name }, primeiro à direita, à esquerda a partir da metade.
station-cue = Estação { $n }: { $text }
station-cue-labelled = Estação { $n }, { $text }
stations-begin = Uma pessoa em cada estação.
stations-ready = Cada um na sua estação.
stations-next = Passem para a próxima estação.
stations-next-put-down = Deixem no chão o que têm nas mãos e passem para a próxima estação.
stations-round = Rodada { $round }: passem para a próxima estação.
finish-stations = Deixem no chão o que têm nas mãos. Acabou.

## Equipment and posture: what must leave the hands comes first.

put-down = Deixe { $the } no chão.
put-down-place = Deixe { $the } { $place }.
put-down-way = Deixe { $the } bem fora do caminho.
put-down-brief = { $the } no chão.
put-down-way-brief = { $items } fora do caminho.
put-down-one = Deixe { $one } no chão.
put-down-one-place = Deixe { $one } { $place }.
put-down-one-brief = { $one } no chão.
take = Pegue { $the } { $hold }.
take-place = Pegue { $the } { $place }, { $hold }.
take-brief = { $the } { $hold }.
change-hold = Agora { $the } { $hold }.
the-item = { $gender ->
    [feminine] a { $item }
   *[masculine] o { $item }
}
the-items = { $gender ->
    [feminine] as { $item }
   *[masculine] os { $item }
}
loaded-name = { $item }
loaded-phrase = { $phrase } de { $load }
posture-floor = Desça para o chão.
posture-floor-brief = Para o chão.
posture-kneeling = Fique de joelhos.
posture-kneeling-brief = De joelhos.
posture-standing = Levante-se sem pressa.
posture-standing-brief = De pé.

then = Depois { $text }

## Cues that are an offer, never an order.

easier-brief = Mais fácil: { $text }
harder-brief = Mais difícil: { $text }

breathing-lowering-first = Inspire ao descer, solte o ar no esforço.
breathing-effort-first = Solte o ar no esforço, inspire na volta.

## In the rests and at the end.

recovery-1 = Caminhe um pouco e deixe o fôlego voltar.
recovery-1-brief = Deixe o fôlego voltar.
recovery-2 = Passos leves, solte o ar devagar.
recovery-2-brief = Solte o ar devagar.
recovery-3 = Solte os braços e respire com a barriga.
recovery-3-brief = Respire com a barriga.
recovery-floor = Fique onde está e deixe o fôlego voltar.
recovery-floor-brief = Deixe o fôlego voltar.
progress-round-1 = { $done } feitos, { $left ->
    [um] falta um
   *[other] faltam { $left }
}.
progress-round-2 = Você já fez { $done }, { $left ->
    [um] falta um
   *[other] faltam { $left }
}.
progress-round-3 = { $left ->
    [um] Falta um
   *[other] Faltam { $left }
}, { $done } feitos.
progress-in-round-1 = { $done } feitos nesta rodada, { $left ->
    [um] falta um
   *[other] faltam { $left }
}.
progress-in-round-2 = { $left ->
    [um] Falta um
   *[other] Faltam { $left }
} nesta rodada.
progress-in-round-3 = Esta rodada: { $done } feitos, { $left ->
    [um] falta um
   *[other] faltam { $left }
}.
progress-clock-1 = Ainda cerca de { $length } ao todo.
progress-clock-2 = Em cerca de { $length } você termina.
progress-clock-3 = { $length }, mais ou menos, até o fim.
progress-last-round = Esta é a última rodada.
progress-half = Metade da sessão já foi.
finish-done = Acabou.
finish-put-down = Deixe { $the } no chão. Acabou.
finish-walk = Fique de pé e caminhe até a respiração se acalmar.
finish-floor = Levante-se devagar, no seu tempo, e caminhe até a respiração se acalmar.
finish-faint = Se sentir tontura, sente ou deite na hora.
finish-effort = De zero a dez, qual foi o esforço da sessão inteira? Anote um número, agora ou depois.
finish-effort-brief = Qual foi o esforço, de zero a dez?

## In the coach's ear alone.

aside-coming = A seguir: { $name }
aside-last = Depois vem o fim.
aside-left = Até o fim, mais ou menos { $length }.

## On the keys, while it runs.

said-paused = Em pausa.
said-going-on = Continuando.
said-device-back = O som voltou.
said-louder = Mais alto.
said-quieter = Mais baixo.
said-faster = Mais rápido.
said-slower = Mais devagar.
said-more = Mais orientações.
said-less = Menos orientações.
said-not-now = Agora não.
said-nothing-yet = Ainda não há nada.
said-noted = Anotado.
said-how-hard = Qual foi o esforço, de zero a dez? Aperte um número.
said-goes-on = { $title } continua. { $name }
said-no-easier = Não há opção mais fácil.
said-rest = Descanso, { $left }.
said-round = Rodada { $round } de { $rounds }.
said-place-work = { $name } Mais { $left }.
said-place-open = { $name } Até você seguir.
said-place-start = Começa em { $left }. A seguir: { $name }
said-place-rest = Descanso, { $left }. A seguir: { $name }

## The keys, as they are mapped. Parts of a sentence, which begins with a capital.

keys-sentence = { $parts }.
keys-none = Durante uma sessão nenhuma tecla faz nada.
keys-none-between = Entre sessões nenhuma tecla faz nada.
key-or = { $first } ou { $second }
key-pause-or-resume = { $key } pausa e continua
key-pause = { $key } pausa
key-resume = { $key } continua
key-skip = { $key } pula
key-back = { $key } volta
key-repeat = { $key } repete a última frase
key-where = { $key } diz onde você está
key-explain = { $key } explica o exercício
key-easier = { $key } dá a opção mais fácil
keys-volume = { $first } e { $second } mudam o volume
key-louder = { $key } aumenta o volume
key-quieter = { $key } diminui o volume
keys-speed = { $first } e { $second } mudam a velocidade da voz
key-speech-faster = { $key } fala mais rápido
key-speech-slower = { $key } fala mais devagar
keys-talk = { $first } e { $second } mudam quanto se fala
key-talk-more = { $key } fala mais
key-talk-less = { $key } fala menos
keys-figures = as teclas de números dizem no fim qual foi o esforço
key-rate = { $key } diz esforço { $words }
key-rate-skip = { $key } deixa o esforço em aberto
key-next = { $key } diz a próxima sessão
key-previous = { $key } diz a sessão anterior
key-start = { $key } começa a sessão
key-start-session = { $key } começa { $session }
key-help = { $key } repete as teclas
key-stop = { $key } termina
one-button = o botão
one-button-running = { $key }: um toque pausa, dois pulam, mais um continua.
one-button-between = { $key }: um toque diz a próxima sessão, dois começam.

# Keys as one says them: letters are said as they are, figures as numbers.
key-function = F { $n }
key-named-space = espaço
key-named-enter = enter
key-named-tab = tab
key-named-escape = esc
key-named-backspace = backspace
key-named-delete = delete
key-named-up = seta para cima
key-named-down = seta para baixo
key-named-left = seta para a esquerda
key-named-right = seta para a direita
key-named-home = home
key-named-end = end
key-named-page-up = page up
key-named-page-down = page down
key-named-plus = mais
key-named-minus = menos
key-named-equals = igual
key-named-underscore = sublinhado
key-named-comma = vírgula
key-named-full-stop = ponto
key-named-semicolon = ponto e vírgula
key-named-colon = dois-pontos
key-named-exclamation-mark = ponto de exclamação
key-named-question-mark = ponto de interrogação
key-named-apostrophe = apóstrofo
key-named-quotation-mark = aspas
key-named-backtick = acento grave
key-named-tilde = til
key-named-caret = acento circunflexo
key-named-at = arroba
key-named-hash = cerquilha
key-named-dollar = cifrão
key-named-percent = por cento
key-named-ampersand = e comercial
key-named-star = asterisco
key-named-slash = barra
key-named-backslash = barra invertida
key-named-bar = barra vertical
key-named-opening-bracket = abre parêntese
key-named-closing-bracket = fecha parêntese
key-named-opening-square-bracket = abre colchete
key-named-closing-square-bracket = fecha colchete
key-named-opening-brace = abre chave
key-named-closing-brace = fecha chave
key-named-less-than = menor que
key-named-greater-than = maior que

## Where a session was left, at the next start.

stopped-at = { $title } parou neste exercício: { $name }.
stopped-at-round = { $title } parou na rodada { $round }, neste exercício: { $name }.
stopped-after = { $title } parou depois deste exercício: { $name }.
stopped-after-round = { $title } parou na rodada { $round }, depois deste exercício: { $name }.

start-goes-on = Começar retoma dali.

## Choosing a session by ear, in the background.

choose-hint = { $next } diz a próxima sessão, { $start } começa.
said-nothing-runs = Nenhuma sessão em andamento.
no-session = Não há nenhuma sessão chamada { $title }.
no-session-near = Não há nenhuma sessão chamada { $title }. Você quis dizer { $near }?
last-good-one = Vale a última versão boa.
session-begins = { $title } começa.
session-over = { $title } terminou.

## News of the folder that is watched.

session-waits = A sessão { $title } está pronta: { $what }, { $length }.
session-waits-open = A sessão { $title } está pronta: { $what }.
rounds-of = { $rounds } de { $n }
session-fault = A sessão { $title } tem um erro: { $message }.
session-fault-line = A sessão { $title } tem um erro na linha { $line }: { $message }.
session-fault-movement = A sessão { $title } tem um erro no exercício { $movement }, linha { $line }: { $message }.
session-fault-movement-whole = A sessão { $title } tem um erro no exercício { $movement }: { $message }.
session-gone = A sessão { $title } não está mais lá.
sessions-none = nenhuma sessão está pronta
sessions-waiting = { $n ->
    [one] { $feminine } sessão está pronta
   *[other] { $feminine } sessões estão prontas
}
sessions-faulty = { $n ->
    [one] { $feminine } tem um erro
   *[other] { $feminine } têm erros
}
sessions-gone = { $n ->
    [one] { $feminine } não está mais lá
   *[other] { $feminine } não estão mais lá
}
sessions-changed = { $n ->
    [one] { $feminine } sessão mudou
   *[other] { $feminine } sessões mudaram
}
sessions-told = { $facts }.
sessions-changed-told = { $changed }: { $facts }.

## Depois de um ensaio: "Duas partes passaram do tempo, a pior em quatro segundos."

rehearsed-well = Tudo coube no tempo.
rehearsed-over = { $n ->
    [one] { $feminine } parte passou do tempo
   *[other] { $feminine } partes passaram do tempo
}
rehearsed = { $over }, a pior em { $length }.
rehearsed-silent = { $n ->
    [one] { $feminine } frase obrigatória não se ouviu.
   *[other] { $feminine } frases obrigatórias não se ouviram.
}

## Ao ensaiar, em resposta a uma tecla: quanta ajuda há a partir daqui, e onde se está.

rehearse-whole = Cada parte se ouve primeiro.
rehearse-first-words = Só as primeiras palavras.
rehearse-name = Só os nomes.
rehearse-marks = Só contagens e tons.
rehearse-again = Esta parte de novo e de novo.
rehearse-on = Segue a próxima.
rehearse-where = Parte { $at } de { $of }.

## Os tons, como `tones` os nomeia.

tone-start = Um exercício começa.
tone-end = Um exercício termina.
tone-fault = Algo não pôde ser dito.

## Na tela e no papel: legendas e capítulos.

caption-start-tone = sinal de início
caption-end-tone = sinal de fim
caption-fault-tone = sinal de falha
caption-music = música
caption-sync-tone = sinal de sincronização
caption-left-out = não se ouve aqui: { $text }
caption-not-recorded = sem registro
caption-record-ends = o registro termina aqui
chapter-opening = Introdução
chapter-block = Parte { $number }
chapter-round = Rodada { $number } de { $of }
chapter-stations = Todas as estações
chapter-stations-turn = Todas as estações, { $number } de { $of }
chapter-finish = Final
sheet-coach = Para quem conduz
sheet-participants = Para quem treina
sheet-facts = { $total } no total. Voz: { $voice }.
sheet-timeline = O que se ouve, e quando
sheet-left-out = O que ficou de fora
sheet-nothing = Nada.
sheet-work = trabalho
sheet-rest = Descanso
sheet-around = antes e depois
sheet-until-key = até que se aperte uma tecla
sheet-count = uma contagem
sheet-line = uma frase, com a sua duração
sheet-safety = por segurança
sheet-ready = Tenha à mão
sheet-exercises = Os exercícios
sheet-stations = As estações
sheet-start = Posição inicial
sheet-how = Movimento
sheet-care = Cuidado
sheet-easier = Mais fácil
sheet-cautions = Para a sua segurança
sheet-mirrored = O que se faz de um lado está escrito para o primeiro; para o outro, espelhe.
