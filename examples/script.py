"""The words, sounds and doses of the made-up class, in order. No such class was ever held."""

from __future__ import annotations

from render import Chapter, Count, Dose, Event, Hold, Say, Silence

TITLE = "Voice and swallow class"
PITCH_HZ = 96.0  # near the median pitch of the voice that speaks


def hold(vowel: str, seconds: float, above: float = 0.0, target_s: float | None = None) -> Hold:
    return Hold(vowel, seconds, PITCH_HZ * 2 ** (above / 12), target_s)


FIVE = ("One.", "Two.", "Three.", "Four.", "Five.")
IN = Count("breath", ("In.", "Two.", "Three."), (1, 2, 3), pose="breathe_in")
OUT = Count("breath", ("Out.", "Two.", "Three.", "Four.", "Five.", "Six."), (1, 2, 3, 4, 5, 6), pose="breathe_out")
OUT_WITHOUT_FOUR = Count(
    "breath", ("Out.", "Two.", "Three.", "Five.", "Six."), (1, 2, 3, 5, 6), pose="breathe_out", missing=(4,)
)

SCRIPT: tuple[Event, ...] = (
    Chapter("Welcome", "opening"),
    Silence(0.6, "before the first word"),
    Say("Good afternoon, everyone, and a special hello if you are following from your own kitchen.", pose="wave"),
    Say("This is our little group for getting voice and swallow going again after a stroke."),
    Say("Find a firm chair without wheels, bring your hips right to the back, and plant both feet."),
    Say("Have a glass of water nearby, but only if plain water is fine for you."),
    Say("All of this is general, so whatever your own therapist or doctor has told you comes first.", caution=True),
    Silence(0.6, "between exercises"),
    Chapter("Neck turns", "exercise", "neck"),
    Say("We'll loosen the neck to begin with, because a stiff neck makes everything above it work harder."),
    Say(
        "Keep your chin level, look round as far as feels easy, and stay there for a count of five.",
        asked=(Dose("class", hold_s=(5, 5)),),
    ),
    Say("If it is sore, or you feel giddy, come back to the middle and leave this one out.", caution=True),
    Say("We go to the left.", pose="turn_left", after_s=0.8),
    Count("seconds", FIVE, (1, 2, 3, 4, 5), side="left", pose="turn_left"),
    Say("Come back to the front, and let the shoulders hang."),
    Say("Now over to the right.", pose="turn_right", after_s=0.8),
    Count("seconds", FIVE, (1, 2, 3, 4, 5), side="right", pose="turn_right"),
    Say("And forward again.", after_s=0.6),
    Say(
        "One each way is enough for here; at home make it three each way, every day.",
        asked=(Dose("class", reps=(1, 1), side="both"), Dose("home", reps=(3, 3), side="both", per_day=(1, 1))),
    ),
    Silence(0.6, "between exercises"),
    Chapter("Long ah", "exercise", "voice"),
    Say("Let's find your voice now, with one long, steady ah."),
    Say("It teaches you to share a single breath out over a whole sentence."),
    Say(
        "Take an easy breath, open your mouth, and keep the sound smooth for twelve seconds.",
        asked=(Dose("class", hold_s=(12, 12)),),
    ),
    Say("Comfortable, not loud, and if your throat feels scratchy, leave it for today.", caution=True),
    Say("Here is mine.", after_s=0.8),
    hold("ah", 9.3, target_s=12.0),
    Say("Well, I ran out a bit early there, so don't you worry if you do too."),
    Say("A breath, and a shorter one, so you can hear how level it stays.", after_s=0.8),
    hold("ah", 6.2, above=0.5),
    Say(
        "Two will do in this room; at home I'd like four of them, "
        "aiming for twelve seconds, on five days of the week.",
        asked=(
            Dose("class", reps=(2, 2)),
            Dose("home", reps=(4, 4), hold_s=(12, 12), days_per_week=(5, 5)),
        ),
    ),
    Silence(0.6, "between exercises"),
    Chapter("Short ee calls", "exercise", "voice"),
    Say("Next come short calls on the sound ee, as if you were greeting a friend over the garden hedge."),
    Say("Give each one a clear, crisp start, and we'll do five of those.", asked=(Dose("class", reps=(5, 5)),)),
    Say("Ready, first one.", after_s=0.5),
    hold("ee", 1.1, above=3.0),
    Say("Again."),
    hold("ee", 1.3, above=3.2),
    Say("Again."),
    hold("ee", 1.0, above=2.8),
    Say("And again."),
    hold("ee", 1.2, above=3.5),
    Say("Again."),
    hold("ee", 1.4, above=3.0),
    Say(
        "On your own that becomes fifteen, no, hang on, my sheet says twelve, "
        "once in the morning and once after supper.",
        asked=(Dose("home", reps=(12, 12), per_day=(2, 2)),),
    ),
    Silence(0.6, "between exercises"),
    Chapter("Strong swallow", "exercise", "swallow"),
    Say("Now a strong swallow, which the textbooks call the effortful swallow."),
    Say("You squeeze every muscle in your mouth and throat, as though thick honey had to be moved along."),
    Say("Use only your own saliva, please, nothing to eat or drink while you practise this.", caution=True),
    Say(
        "If you have heart trouble, or you cough or sound wet afterwards, leave it and ask your own clinician.",
        caution=True,
    ),
    Say(
        "I'll do two of them, quietly, so keep an eye on my throat.",
        asked=(Dose("class", reps=(2, 2)),),
    ),
    Say("Gather a little saliva, squeeze, and swallow.", pose="throat"),
    Silence(3.2, "effortful swallow", pose="swallow"),
    Say("And let everything go soft.", after_s=1.2),
    Say("Here comes the second, squeeze, and swallow.", pose="throat"),
    Silence(3.0, "effortful swallow", pose="swallow"),
    Say(
        "Now stop the video here and do six more, with a good rest between them.",
        stop=(6, 6),
        asked=(Dose("home", reps=(6, 6)),),
        pose="palm",
    ),
    Silence(2.0, "practice stop", pose="palm"),
    Say("Welcome back, I hope all six of them behaved.", resume=True, pose="wave"),
    Silence(0.6, "between exercises"),
    Chapter("Counted breathing", "exercise", "breath", pose="belly"),
    Say("Let's settle ourselves with slow, counted breathing."),
    Say(
        "The air comes in while I count three, and drifts out through loose lips while I count six.",
        asked=(Dose("class", pattern=(3, 0, 6, 0)),),
    ),
    Say(
        "Don't hold your breath anywhere, and if your head starts to swim, breathe the way you always do.",
        caution=True,
    ),
    Say("Two rounds together.", asked=(Dose("class", reps=(2, 2)),), after_s=0.8),
    IN,
    OUT,
    IN,
    OUT_WITHOUT_FOUR,
    Say("I believe I skipped a number there, so trust your breath and not my counting."),
    Say("At home, that's six rounds.", asked=(Dose("home", reps=(6, 6)),)),
    Silence(0.6, "between exercises"),
    Chapter("Tongue circles", "exercise", "mouth"),
    Say("One more for your list, and I am only going to tell you about it today."),
    Say(
        "It's the tongue circle: lips together, "
        "and the tip of your tongue travels slowly round the outside of your teeth."
    ),
    Say(
        "Four circles one way and four back, at home, after you have cleaned your teeth.",
        asked=(Dose("home", reps=(4, 4), side="both"),),
    ),
    Say(
        "Be gentle round a sore spot or a loose denture, and mention it to your dentist or therapist.", caution=True
    ),
    Silence(0.6, "between exercises"),
    Chapter("Guess the thing", "quiz", "thinking", pose="think"),
    Say("Time to rest the mouth and stir the brain."),
    Say("I describe a thing, you get a few quiet seconds, and then I tell."),
    Say("The first one: it has a face and two hands, but it never waves at you.", clue=True, after_s=0.0),
    Silence(4.5, "think time", pose="wonder"),
    Say("It was a clock.", answer=True),
    Say("The second: you lick it, put it in a corner, and it travels the world.", clue=True, after_s=0.0),
    Silence(4.2, "think time", pose="wonder"),
    Say("That one was a stamp.", answer=True),
    Say("The last: it has plenty of teeth, and it doesn't bite.", clue=True, after_s=0.0),
    Silence(5.0, "think time", pose="wonder"),
    Say("I had a comb in mind.", answer=True),
    Silence(0.6, "between exercises"),
    Chapter("News", "talk"),
    Say("A bit of news before you put your coats on."),
    Say(
        "The hall floor is being polished, "
        "so next week we meet on Thursday, I tell a lie, on Friday, at half past two."
    ),
    Say("And bring a hand mirror, because we'll be looking at lips and smiles."),
    Silence(0.5, "between exercises"),
    Chapter("Goodbye", "closing"),
    Say(
        "Good work, all of you, be kind to your voice this evening, "
        "and I look forward to seeing you all on Friday.",
        pose="wave",
    ),
    Silence(1.0, "after the last word", pose="wave"),
)
