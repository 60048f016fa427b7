from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.lesson import Ask, Word
from segmenter.understand.dose import NAMED, find_asks, practice_seconds
from tests.understand.speaking import shorts, spoken

ASKED: list[tuple[str, list[str]]] = [
    # How many.
    ("Let's do eight of those.", ["class reps=8"]),
    ("We'll do ten together.", ["class reps=10"]),
    ("Give me six big yawns.", ["class reps=6"]),
    ("Right, another five like that.", ["class reps=5"]),
    ("Do that for more times.", ["class reps=4"]),
    ("Repeat it seven times, please.", ["class reps=7"]),
    ("Twelve slow shoulder rolls to start us off.", ["class reps=12"]),
    ("I'd like half a dozen chin tucks.", ["class reps=6"]),
    ("Try for a dozen lip presses.", ["class reps=12"]),
    ("We're aiming for fifteen.", ["class reps=15"]),
    ("Do it twice.", ["class reps=2"]),
    ("I'll only be showing three of these.", ["class reps=3"]),
    ("Do ten sit-to-stands.", ["class reps=10"]),
    ("Swallow five times, nice and slowly.", ["class reps=5"]),
    ("Now take four deep breaths.", ["class reps=4"]),
    ("Make it twenty-five if you're feeling strong.", ["class reps=25"]),
    ("Let's go for nine.", ["class reps=9"]),
    ("Six repetitions, then we stop.", ["class reps=6"]),
    ("Say each word three times over.", ["class reps=3"]),
    # How long.
    ("Hold it for ten seconds.", ["class hold=10"]),
    ("Keep your tongue up there for five seconds.", ["class hold=5"]),
    ("Hold for eight.", ["class hold=8"]),
    ("Stay there for a slow count of five.", ["class hold=5"]),
    ("Squeeze, and keep squeezing for three seconds.", ["class hold=3"]),
    ("March on the spot for sixty seconds.", ["class hold=60"]),
    ("Stand on one leg for half a minute.", ["class hold=30"]),
    ("Stretch for a minute and a half.", ["class hold=90"]),
    ("Hum for as long as you can, aiming for fifteen seconds.", ["class hold=15"]),
    ("A ten-second hold, please.", ["class hold=10"]),
    ("Each press lasts six seconds.", ["class hold=6"]),
    ("Keep the ah going for twelve to fifteen seconds.", ["class hold=12-15"]),
    ("We'll hold for five seconds, but at home work up to ten seconds.", ["class hold=5", "home hold=-10"]),
    ("Hold it while I count to six.", ["class hold=6"]),
    # Both.
    ("Do five presses, holding each one for ten seconds.", ["class reps=5 hold=10"]),
    ("Ten times, three seconds each.", ["class reps=10 hold=3"]),
    ("Hold for five seconds. Keep breathing. Do that ten times.", ["class reps=10 hold=5"]),
    ("Push for four seconds. Six times.", ["class reps=6 hold=4"]),
    ("Five squeezes of ten seconds each.", ["class reps=5 hold=10"]),
    # Sets and rests.
    ("Three sets of ten.", ["class reps=10 sets=3"]),
    ("Do two sets of eight with a minute's rest in between.", ["class reps=8 sets=2"]),
    ("Three lots of ten.", ["class reps=10 sets=3"]),
    ("Two sets of twelve, and rest for thirty seconds between sets.", ["class reps=12 sets=2 rest=30"]),
    ("Three sets of thirty seconds.", ["class hold=30 sets=3"]),
    ("Hold for ten seconds, then rest for ten seconds.", ["class hold=10 rest=10"]),
    ("Do five, with ten seconds rest between them.", ["class reps=5 rest=10"]),
    ("Half a minute off.", ["class rest=30"]),
    ("Four sets of five lifts, please.", ["class reps=5 sets=4"]),
    # Ranges and limits.
    ("Do five to ten.", ["class reps=5-10"]),
    ("Try two or three goes.", ["class reps=2-3"]),
    ("Repeat that 10-15 times.", ["class reps=10-15"]),
    ("At least eight, please.", ["class reps=8+"]),
    ("Do no more than ten.", ["class reps=-10"]),
    ("Don't go past ten until I've seen you.", ["home reps=-10"]),
    ("Do up to twelve of these.", ["class reps=-12"]),
    ("Don't hold it for more than five seconds.", ["class hold=-5"]),
    ("Between five and ten, your choice.", ["class reps=5-10"]),
    ("Hold for at least three seconds.", ["class hold=3+"]),
    # Sides.
    ("Ten on each side.", ["class reps=10 side=both"]),
    ("Five each way.", ["class reps=5 side=both"]),
    ("Do eight with the left hand.", ["class reps=8 side=left"]),
    ("Turn to the right and hold for five seconds.", ["class hold=5 side=right"]),
    ("Twelve on either leg.", ["class reps=12 side=both"]),
    ("Circle the wrist six times, both directions.", ["class reps=6 side=both"]),
    ("Do ten in all.", ["class reps=10"]),
    ("Stretch for twenty seconds a side.", ["class hold=20 side=both"]),
    # How often.
    ("Three times a day.", ["home day=3"]),
    ("Do this three times.", ["class reps=3"]),
    ("Practise this twice a day, please.", ["home day=2"]),
    ("Every day, please.", ["home week=7"]),
    ("Do your glides five days a week.", ["home week=5"]),
    ("At least four days out of seven.", ["home week=4+"]),
    ("Twice a week is plenty.", ["home week=2"]),
    ("Morning and evening.", ["home day=2"]),
    ("Once in the morning, once at night.", ["home day=2"]),
    ("Five days on, two days off.", ["home week=5"]),
    ("Do them every other day.", ["home week=3-4"]),
    ("Daily until your next visit.", ["home week=7"]),
    ("Monday, Wednesday, Friday.", ["home week=3"]),
    ("Keep this up each morning.", ["home day=1 week=7"]),
    ("Do them once or twice a day.", ["home day=1-2"]),
    ("Try it two to three times per week.", ["home week=2-3"]),
    ("Ten of these, twice daily.", ["home reps=10 day=2"]),
    ("Do it four times every day.", ["home day=4"]),
    # Class against home.
    ("We'll do ten here; at home do twenty.", ["class reps=10", "home reps=20"]),
    ("Three together now, the other seven on your own.", ["class reps=3", "home reps=7"]),
    ("I'm only showing five, your sheet says fifteen.", ["class reps=5", "home reps=15"]),
    ("One set with me, two more later.", ["class sets=1", "home sets=2"]),
    ("Ten on each side at home, we'll do three.", ["home reps=10 side=both", "class reps=3"]),
    ("We'll do three, at home ten.", ["class reps=3", "home reps=10"]),
    ("Two will be enough in this room, at home I'd like six.", ["class reps=2", "home reps=6"]),
    ("Homework is three lots of ten.", ["home reps=10 sets=3"]),
    ("At home that's eight rounds.", ["home reps=8"]),
    ("For homework, hold each one for ten seconds, five times, twice a day.", ["home reps=5 hold=10 day=2"]),
    ("On your own, do fifteen. And twice on good days.", ["home reps=15", "home reps=2"]),
    ("Just a taste today: your target is thirty at home.", ["home reps=30"]),
    ("Here we'll go to six; aim for a dozen by the end of the month.", ["class reps=6", "home reps=12"]),
    (
        "Let's do two now, and at home do eight on each side, every day.",
        ["class reps=2", "home reps=8 week=7 side=both"],
    ),
    ("We're doing it twice; the usual dose is five.", ["class reps=2", "home reps=5"]),
    ("You do ten at home and we'll do four today.", ["home reps=10", "class reps=4"]),
    # Corrections.
    ("Do ten, sorry, make it twelve.", ["class reps=12"]),
    ("Hold for five, no, hang on, eight seconds.", ["class hold=8"]),
    ("Do six of these. Sorry, seven.", ["class reps=7"]),
    ("At home do fifteen, I mean twenty, every morning.", ["home reps=20 day=1 week=7"]),
    ("Three sets of eight, no, ten.", ["class reps=10 sets=3"]),
    ("Do five each side. Actually, make that six.", ["class reps=6 side=both"]),
    ("Not ten, but twelve times, please do them slowly.", ["class reps=12"]),
    ("Instead of ten, do five.", ["class reps=5"]),
    # Breathing.
    ("Breathe in for four, hold for two, out for six.", ["class breath=4/2/6/?"]),
    ("In for four and out for six.", ["class breath=4/?/6/?"]),
    (
        "Breathe in through the nose for a count of three, and out through the lips for five.",
        ["class breath=3/?/5/?"],
    ),
    ("Four counts in, six counts out.", ["class breath=4/?/6/?"]),
    ("Breathe in for four. Hold for two. Breathe out for six.", ["class breath=4/2/6/?"]),
    ("In for four, hold for four, out for four, hold for four.", ["class breath=4/4/4/4"]),
    ("At home, breathe in for three and out for six, ten times.", ["home reps=10 breath=3/?/6/?"]),
    (
        "The breath comes in while I count three, and goes out while I count six. Don't hold your breath.",
        ["class breath=3/0/6/0"],
    ),
    ("Inhale four, hold seven, exhale eight.", ["class breath=4/7/8/?"]),
    # Recognisers write digits, and drop punctuation.
    ("hold it for 10 seconds", ["class hold=10"]),
    ("do 3 sets of 10 twice a day", ["home reps=10 sets=3 day=2"]),
    ("we'll do five of those now ready", ["class reps=5"]),
    ("at home i want you to do 12 on each side", ["home reps=12 side=both"]),
    ("breathe in for 4 and out for 6", ["class breath=4/?/6/?"]),
    ("10 reps 5 seconds each", ["class reps=10 hold=5"]),
    ("Okay everybody, seven of those, please.", ["class reps=7"]),
    ("Make each note last about eight seconds.", ["class hold=8"]),
    ("Lift the heels, hold two seconds, and come down, ten times.", ["class reps=10 hold=2"]),
    ("Let's have three more of those on the other side.", ["class reps=3"]),
    ("You want to be doing these four or five times a week.", ["home week=4-5"]),
    ("Ten slow ones now, and ten quick ones at home.", ["class reps=10", "home reps=10"]),
    ("Try not to go over twenty seconds.", ["class hold=-20"]),
    ("Your target at home is three sets of twelve, five days a week.", ["home reps=12 sets=3 week=5"]),
    ("Count to five in your head while you hold.", ["class hold=5"]),
    ("I want six from each of you.", ["class reps=6"]),
    ("Do this before breakfast and before bed.", ["home day=2"]),
    ("Keep going for two minutes.", ["class hold=120"]),
    ("Twice round to the left and twice round to the right.", ["class reps=2 side=both"]),
    ("Once you can do ten easily, go up to fifteen.", ["class reps=-15"]),
    ("Smile wide for three, relax for three.", ["class hold=3 rest=3"]),
    ("Chin down, and stay for ten.", ["class hold=10"]),
    ("Sip, swallow, and do that five times in a row.", ["class reps=5"]),
    ("No more than three sets in one day.", ["home sets=-3"]),
    ("Say your full name three times, loudly.", ["class reps=3"]),
    ("Aim to hold your ah for fifteen seconds by next month.", ["class hold=15"]),
    ("Read the list aloud once a day.", ["home day=1"]),
    # More voices.
    ("I want you to poke your tongue out eight times.", ["class reps=8"]),
    ("We're only going to do a set of five.", ["class reps=5"]),
    ("Give each letter a good three seconds.", ["class hold=3"]),
    ("Keep blowing for as long as the straw bubbles, say six seconds.", ["class hold=6"]),
    ("Let's say four on this side and four on that.", ["class reps=4 side=both"]),
    ("When you're at home you can build up to twenty of them.", ["home reps=-20"]),
    ("Repeat the whole thing another two times.", ["class reps=2"]),
    ("That wants doing three times daily.", ["home day=3"]),
    ("Thirty seconds on the left leg, thirty seconds on the right.", ["class hold=30 side=both"]),
    ("Puff out your cheeks and hold the air in for three seconds, ten times over.", ["class reps=10 hold=3"]),
    ("Just the two today, but the full ten when you're home.", ["class reps=2", "home reps=10"]),
    ("Slide up five times and down five times.", ["class reps=5"]),
    ("Open as wide as is comfortable, and hold that for ten seconds.", ["class hold=10"]),
    ("Then close, rest for ten seconds, and go again, five times in all.", ["class reps=5 rest=10"]),
    ("You'll do this morning and night, ten swallows each time.", ["home reps=10 day=2"]),
    ("Practise for fifteen minutes a day.", ["home hold=900"]),
    ("Two lots of six with a little rest in the middle.", ["class reps=6 sets=2"]),
    ("Go for somewhere between eight and twelve.", ["class reps=8-12"]),
    ("Start with three and see how you feel.", ["class reps=3"]),
    ("Nod your head gently ten times.", ["class reps=10"]),
    ("I'm going to ask you to hold this one a bit longer, fifteen seconds.", ["class hold=15"]),
    ("At home, no more than five a day to begin with.", ["home reps=-5"]),
    ("Right, three of those, nice and loud.", ["class reps=3"]),
    ("We did ten last week, so this week let's do twelve.", ["class reps=12"]),
    ("My physio friend says thirty, but I'd say fifteen is plenty.", ["class reps=15"]),
    ("Your homework this week is ten lip trills, morning and evening.", ["home reps=10 day=2"]),
    ("Press for five. And off. Press for five. And off.", ["class hold=5"]),
    ("Hold that smile, five seconds, and relax.", ["class hold=5"]),
    ("Let's make it an even dozen.", ["class reps=12"]),
    ("Do one on the left, one on the right, and that's a round.", ["class reps=1 side=both"]),
    ("Four times through, please, no rushing.", ["class reps=4"]),
    ("You need to do this at least five days each week.", ["home week=5+"]),
    ("Not ten, no, five is enough.", ["class reps=5"]),
    ("Breathe in for three counts, hold it for three, and let it out over six.", ["class breath=3/3/6/?"]),
    ("It's an in-breath of four and an out-breath of eight.", ["class breath=4/?/8/?"]),
    ("Eight seconds out, four seconds in.", ["class breath=4/?/8/?"]),
]

BY_WHO_SPEAKS = [
    # A number with no noun of its own counts repetitions, whatever the verb.
    ("We shall now perform five together.", ["class reps=5"]),
    ("I should be obliged if you would complete ten at home.", ["home reps=10"]),
    ("Three sets of eight at home. Minute off between sets.", ["home reps=8 sets=3 rest=60"]),
    ("Rest. 30 seconds. Walk it off.", ["class rest=30"]),
    ("Half a dozen. With a three-second rest so the cheeks don't cramp.", ["class reps=6 rest=3"]),
    ("10. With 5 seconds between.", ["class reps=10 rest=5"]),
    ("Two sets of eight, with thirty seconds of nothing in the middle.", ["class reps=8 sets=2 rest=30"]),
    ("Do ten at home if you can three times a day.", ["home reps=10 day=3"]),
    ("Ten of those at home if it's on your sheet every day.", ["home reps=10 week=7"]),
    ("We did two, at home you make it eight.", ["class reps=2", "home reps=8"]),
    ("That was three in here, but at home you're going for six.", ["class reps=3", "home reps=6"]),
    ("That's eight a leg.", ["class reps=8 side=both"]),
    ("Ten, five seconds apiece.", ["class reps=10 hold=5"]),
    ("Eight, please.", ["class reps=8"]),
    ("Give me five, or six if you like.", ["class reps=5-6"]),
    ("I want it five, six seconds long.", ["class hold=5-6"]),
    ("Hold it a slow four.", ["class hold=4"]),
    ("That was five seconds, and four of those will do.", ["class reps=4 hold=5"]),
    ("Do ten in a row, twice.", ["class reps=10 sets=2"]),
    # Daily life is at home.
    ("Five rounds in front of the telly.", ["home reps=5"]),
    ("Six of those while the kettle boils, five seconds each.", ["home reps=6 hold=5"]),
    ("Every other day for that one.", ["home week=3-4"]),
    ("Five mornings a week would be lovely.", ["home week=5"]),
    # Breathing by other words, with a number after it.
    ("in for two out for four give us six", ["class reps=6 breath=2/?/4/?"]),
    ("In for two, and let it leave slowly for four.", ["class breath=2/?/4/?"]),
]

NOTHING = [
    "She said ten of those a day.",
    "I did three times a day for a year.",
    "They had me doing five goes, then a rest.",
    "We have about twenty minutes today.",
    "There were two of them in the kitchen.",
    "Four fifty, and that was a bargain.",
    "Take five away from that.",
    "Put the two of them together.",
    "If six is too long, make it five.",
    "Two quiet breaths.",
    "One, two, three, four, and relax.",
    "One two three four five six seven eight.",
    "In, two, three, four, out, two, three, four, five, six.",
    "Five, four, three, two, one, rest.",
    "On three: one, two, three.",
    "Number four today is the big yawn.",
    "Exercise two is the partner of exercise one.",
    "We start at ten, not half past.",
    "See you at two o'clock on Thursday.",
    "There's a talk on the tenth.",
    "The bus leaves at ten past four.",
    "It's in chapter three of the book.",
    "The tickets are ten pounds each.",
    "She's eighty-two years old and still sings.",
    "Two weeks ago we learned the siren.",
    "My sister has three cats and two dogs.",
    "There were twelve of us last week.",
    "I had two biscuits with my tea.",
    "No class for the next two weeks.",
    "The room is booked until twelve.",
    "My husband does three sets of ten every morning.",
    "I walk the dog twice a day.",
    "The café is open every day.",
    "Take your tablets three times a day.",
    "Wait for thirty seconds while I find my glasses.",
    "I'll be back in five minutes.",
    "Give me a second.",
    "Bear with me for a minute.",
    "You have ten seconds on the clock.",
    "It has a face and two hands.",
    "It begins with L and has four letters.",
    "There are three steps to this exercise.",
    "This works two sets of muscles.",
    "I've told you three times already.",
    "Did you do all ten?",
    "How many did you manage, ten?",
    "Hope you managed all ten.",
    "I hope all six of them behaved.",
    "Well, that was ten seconds on my watch.",
    "Five more to go.",
    "Two left, keep it crisp.",
    "Once more.",
    "Again, one more time.",
    "And the last one, number fifteen.",
    "Once you have finished, sit back.",
    "One of you asked about straws.",
    "You don't have to do ten.",
    "If ten is too many, rest.",
    "Don't hold your breath.",
    "In the study people did thirty a day.",
    "It was ninety degrees last summer.",
    "The handout is on page five.",
    "We go to the left.",
    "Sit on the front half of the chair.",
    "I was born in fifty-two.",
    "The newsletter costs two pounds.",
    "We meet in ten minutes and go out at six.",
    "About ten people came on Monday.",
    "This makes your voice ten times better.",
    "Half the class is away today.",
    "The choir meets twice a week.",
    "Stop after an hour if it hurts.",
    "Every day is different.",
    "It happens once a day to all of us.",
    "Breathe out for as long as you breathe in.",
    "In the clinic I ask people for fifteen.",
    "That was eight, so two to go.",
    "Five seconds up, five seconds down.",
    "Blow out ten candles.",
    "The group in the other room did twenty.",
    "We have four exercises left today.",
    "Two minutes until the bell.",
    "It's the twelfth today.",
    "Hold on to the chair with one hand.",
    "My number is on page three.",
    "You'll feel it after the third one.",
    "There are twenty-six bones in the foot.",
    "Forty years ago nobody did this.",
    "Six breaths a minute is the aim.",
    "I counted twelve there.",
    "Count out loud to ten in your strong voice.",
    "Say the days of the week on one breath.",
    "There are seven muscles in there.",
    "Turn to page twelve of your booklet.",
    "Last three.",
    "Oh, it's already twenty to eleven.",
    "Only two of you have your cameras on.",
    "I've been doing this job for thirty years.",
    "Our next session is on the third of May.",
    "About one in four people have this.",
    "The first time we did it we all laughed.",
    "It takes about six weeks to notice a change.",
    "One hand on your tummy, one hand on your chest.",
    "Put two fingers on your throat.",
    "Feet ten centimetres apart.",
    "He sang it three times at the wedding.",
    "Half of you are at home and half of you are here.",
    "Let's take a two minute break.",
    "You can have five minutes for tea.",
    "Name three animals that begin with B.",
    "Which number comes after nine?",
    "Wait about thirty minutes after your meal before you start.",
    "Say it with me, one more time.",
    "I can do it for about twenty seconds these days.",
    "Nineteen, twenty, well done.",
    "The kettle takes three minutes to boil.",
    "Can everyone see all four of my fingers?",
    "Sit up for half an hour after you eat.",
    "In through the nose, two, three, four.",
]


@pytest.mark.parametrize(("said", "expected"), [*ASKED, *BY_WHO_SPEAKS])
def test_doses_are_read_as_they_were_asked_for(said: str, expected: list[str]) -> None:
    assert shorts(find_asks(spoken(said))) == expected


@pytest.mark.parametrize("said", NOTHING)
def test_talk_and_counting_give_no_dose(said: str) -> None:
    assert shorts(find_asks(spoken(said))) == []


# Doses as printed in trials and leaflets, spoken; the numbers are those of the sources.
PUBLISHED = [
    # Wada et al., Arch Phys Med Rehabil 2012;93:1995-9: jaw opening, 5 x 10 s, 2 sets a day.
    ("At home, open wide and hold for ten seconds, five times, two sets a day.", "home reps=5 hold=10 sets=2"),
    # Koyama et al., Tokai J Exp Clin Med 2017;42:71-8: 5 x 6 s, 4 sets a day, 5 days a week.
    (
        "Your homework is five repetitions of six seconds each, four sets a day, five days a week.",
        "home reps=5 hold=6 sets=4 week=5",
    ),
    # Clin Interv Aging 2019;14:601-8: tongue press, 5 x 10 s with 10 s rest, 2 sets a day.
    (
        "At home do five presses, hold each for ten seconds, rest for ten seconds between, two sets a day.",
        "home reps=5 hold=10 sets=2 rest=10",
    ),
    # Yano et al., Dysphagia 2021: 30 presses, 3 times a day, 5 days a week.
    ("Thirty presses, three times a day, five days a week.", "home reps=30 day=3 week=5"),
    # Kent Community Health NHS leaflet, 2022: head lift, 3 x 60 s with 60 s rest, 3 times a day.
    (
        "At home hold it for sixty seconds, rest for sixty seconds, and do that three times. Three times a day.",
        "home reps=3 hold=60 rest=60 day=3",
    ),
    # Reyes et al., Clin Rehabil 2018: 5 sets of 5 breaths, 6 days a week.
    ("Five sets of five breaths, six days a week.", "home reps=5 sets=5 week=6"),
    # American Academy of Orthopaedic Surgeons handout: 3 sets of 10, hold 5 seconds, 4 to 5 days a week.
    ("Three sets of ten, hold five seconds, four to five days a week.", "home reps=10 hold=5 sets=3 week=4-5"),
    # Feland et al., Phys Ther 2001;81:1110-7: 4 x 60 s with 10 s rest, 5 days a week.
    (
        "Stretch for sixty seconds, four times, with ten seconds rest in between, on five days of the week.",
        "home reps=4 hold=60 rest=10 week=5",
    ),
    # Bane et al., Int J Speech Lang Pathol 2019;21:37-45: each twice, twice a day.
    ("Do each one two times, twice a day.", "home reps=2 day=2"),
]  # fmt: skip


@pytest.mark.parametrize(("said", "expected"), PUBLISHED)
def test_published_doses_are_read_right(said: str, expected: str) -> None:
    assert shorts(find_asks(spoken(said))) == [expected]


@pytest.mark.parametrize(
    ("said", "effort"),
    [
        ("Do ten, as loud as you can.", "as loud as you can"),
        ("Press gently, five times.", "gently"),
        ("Do a couple on each side.", "a couple on each"),
        ("At home, as many as you can.", "as many as you can"),
        ("Repeat it a few times.", "a few times"),
        ("Hold for five seconds at half strength.", "at half strength"),
        ("Push six times with an effort of about six out of ten.", "about six out of ten"),
        ("Little and often.", "little and often"),
        ("Before each meal, please.", "before each meal"),
    ],
)
def test_words_without_a_number_stay_words(said: str, effort: str) -> None:
    asks = find_asks(spoken(said))
    assert len(asks) == 1
    assert asks[0].effort == effort
    assert asks[0].reps is None or (asks[0].reps[0] or 0) >= 5


def test_what_follows_a_lone_number_decides_about_it() -> None:
    assert shorts(find_asks(spoken("Thirty. Lovely work, all of you, I mean it."))) == []
    assert shorts(find_asks(spoken("Four. [700] One, two, three, four. Rest."))) != []
    counted = spoken("One, two, three, four. Four. Nobody died, did they, and the sun is out.")
    assert shorts(find_asks(counted)) == []


def test_unpunctuated_talk_is_parted_by_its_breaths() -> None:
    words = spoken("my sister came on Sunday and she ate all the cake [300] do ten of those for me please")
    assert shorts(find_asks(words)) == ["class reps=10"]


@pytest.mark.parametrize("halt", [100, 300])
def test_a_slow_speaker_halts_inside_a_phrase(halt: int) -> None:
    words = spoken(f"and so my dears i want two sets of [{halt}] ten at home every day")
    assert shorts(find_asks(words)) == ["home reps=10 sets=2 week=7"]


def test_an_ask_quotes_its_words_and_their_time() -> None:
    words = spoken("Good. Now we'll hold for ten seconds and rest.", 5_000)
    (ask,) = find_asks(words)
    texts = [word.text for word in words]
    assert ask.said == "hold for ten seconds"
    assert (ask.start_ms, ask.end_ms) == (words[texts.index("hold")].start_ms, words[texts.index("seconds")].end_ms)


def test_counts_are_less_sure_than_seconds() -> None:
    (count,) = find_asks(spoken("Hold for a slow count of five."))
    (seconds,) = find_asks(spoken("Hold for five seconds."))
    assert count.hold_s == seconds.hold_s == (5.0, 5.0)
    assert count.confidence < seconds.confidence


def test_neighbours_of_another_place_or_far_away_stay_apart() -> None:
    assert len(find_asks(spoken("Do ten here. At home hold for five seconds."))) == 2
    assert len(find_asks(spoken("Do ten of these. [30000] Hold it for five seconds."))) == 2
    assert len(find_asks(spoken("Do ten of these. Hold each for five seconds."))) == 1


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("Home dose. Five each side. Every day.", ["home reps=5 week=7 side=both"]),
        ("Eight a side. Once a day, that'll do it.", ["home reps=8 day=1 side=both"]),
        ("We do four with me. Every day at home do ten.", ["class reps=4", "home reps=10 week=7"]),
        ("Do eight with me. Every day, please.", ["class reps=8", "home week=7"]),
        (
            "So in class we made four. At home I want ten, or let us say eight to ten.",
            ["class reps=4", "home reps=8-10"],
        ),
    ],
)
def test_sentences_that_a_recogniser_parts_keep_their_place(said: str, expected: list[str]) -> None:
    assert shorts(find_asks(spoken(said))) == expected


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("Do three here. The same at home.", ["class reps=3", "home reps=3"]),
        (
            "That's two sets of eight. And that's your home number too.",
            ["class reps=8 sets=2", "home reps=8 sets=2"],
        ),
        ("Ten here, and the same again at home, twice a day.", ["class reps=10", "home reps=10 day=2"]),
        ("Hold two seconds, five times, and at home the same.", ["class reps=5 hold=2", "home reps=5 hold=2"]),
        ("Do three here. [90000] The same at home.", ["class reps=3"]),
        ("Do three here. And we walk home the same way.", ["class reps=3"]),
    ],
)
def test_the_same_at_home_holds_in_both_places(said: str, expected: list[str]) -> None:
    assert sorted(shorts(find_asks(spoken(said)))) == expected


def _ask(**fields: object) -> Ask:
    return Ask.model_validate({"where": "home", "start_ms": 0, "end_ms": 1, **fields})


@pytest.mark.parametrize(
    ("fields", "seconds"),
    [
        ({"reps": (5, 5), "hold_s": (10, 10), "rest_s": (10, 10), "sets": (2, 2)}, 200.0),
        ({"reps": (5, 10), "hold_s": (3, 3)}, 30.0),
        ({"reps": (8, None), "hold_s": (2, 2)}, 16.0),
        ({"reps": (None, 10), "hold_s": (2, 2)}, 20.0),
        ({"reps": (3, 3), "hold_s": (20, 20), "side": "both"}, 120.0),
        ({"reps": (3, 3), "hold_s": (20, 20), "side": "left"}, 60.0),
        ({"hold_s": (60, 60)}, 60.0),
        ({"sets": (3, 3), "hold_s": (10, 10)}, 30.0),
        ({"hold_s": (5, 5)}, None),
        ({"reps": (10, 10)}, None),
        ({"reps": (10, 10), "rest_s": (10, 10)}, None),
        ({}, None),
    ],
)
def test_practice_time_is_known_only_when_all_of_it_was_said(
    fields: dict[str, object], seconds: float | None
) -> None:
    assert practice_seconds(_ask(**fields)) == seconds


_SOME = st.sampled_from(
    [
        "do", "ten", "sets", "of", "five", "hold", "for", "at", "home", "twice", "a", "day", "sorry,", "no,",
        "make", "it", "each", "side.", "in", "out", "half", "minute", "rest", "between", "every", "breathe",
        "count", "to", "3", "10-15", "more", "than", "don't", "left", "minutes?",
    ]
)  # fmt: skip


@settings(max_examples=120)
@given(st.lists(st.one_of(_SOME, _SOME, st.text(min_size=1, max_size=8)), max_size=40), st.integers(50, 2_000))
def test_any_words_give_doses_in_order_inside_the_class(tokens: list[str], step: int) -> None:
    words = [Word(text=token, start_ms=i * step, end_ms=i * step + 50) for i, token in enumerate(tokens)]
    asks = find_asks(words)
    assert [a.start_ms for a in asks] == sorted(a.start_ms for a in asks)
    for ask in asks:
        assert words[0].start_ms <= ask.start_ms < ask.end_ms <= words[-1].end_ms
        assert ask.said
        assert 0 < ask.confidence <= 1
        assert any(getattr(ask, name) is not None for name in (*NAMED, "effort"))
        seconds = practice_seconds(ask)
        assert seconds is None or seconds > 0
