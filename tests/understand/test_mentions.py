"""Finding exercises in untidy talk, and finding none in small talk. All sentences were written for this test."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.lesson import Word
from segmenter.understand.catalogue import Catalogue, load_catalogue
from segmenter.understand.mentions import MISHEARD, NAMED, SAID, SHARED, WEAK, find_mentions, stem

CATALOGUE = load_catalogue()


def words(text: str) -> list[Word]:
    return [Word(text=part, start_ms=300 * at, end_ms=300 * at + 250) for at, part in enumerate(text.split())]


def strong(text: str, least: float = SHARED) -> set[str]:
    return {m.exercise for m in find_mentions(words(text), CATALOGUE) if m.strength >= least}


@pytest.mark.parametrize(
    ("text", "exercise"),
    [
        ("okay so next up um we've got shoulder rolls nice and loose", "shoulder-rolls"),
        ("and rolling those shoulders, back, back, lovely", "shoulder-rolls"),
        ("Right. Look over your left shoulder, and stay there", "head-turn"),
        ("we're turning the head slowly to the other side now", "head-turn"),
        ("bringing the uh the ear down to the shoulder", "ear-to-shoulder"),
        ("up to the ears with those shoulders, so it's a shoulder shrug", "shoulder-shrug"),
        ("shoulder blades together as if there's a pencil back there", "shoulder-blade-squeeze"),
        ("So I want you to swallow really hard, Margaret, really hard.", "effortful-swallow"),
        ("these are our effortful swallows, saliva only", "effortful-swallow"),
        (
            "so it's tongue between, um, your teeth and swallow",
            "tongue-hold-swallow",
        ),
        ("we call it the Mendelsohn, keep that voice box up", "laryngeal-elevation-hold"),
        ("breathe in, hold, swallow, cough, got that?", "supraglottic-swallow"),
        ("the super-supraglottic swallow is the tighter one", "super-supraglottic-swallow"),
        ("lying flat, lift your head and look at your toes, keep it there", "head-lift-hold"),
        ("pop the rolled towel under your chin and press", "chin-tuck-ball-hold"),
        ("tuck your chin as you swallow this time", "chin-down-swallow"),
        ("give yourself a lovely double chin", "chin-retraction"),
        ("pressing your tongue up against the roof of your mouth", "tongue-press"),
        ("opening your mouth as wide as you can, no forcing", "jaw-opening-hold"),
        ("and big breath and hold your ahhh till I say", "sustained-ah"),
        ("nice steady ah please, everyone", "sustained-ah"),
        ("glide up for me, from your lowest to your highest", "glide-up"),
        ("and now we slide our voices down, high to low", "glide-down"),
        ("make a siren sound, like an old police car", "siren"),
        ("lip trills, or a raspberry if you can't", "lip-trill"),
        ("we're humming through the straw for this bit", "straw-voicing"),
        ("a big yawn and then sigh, so yawn and sigh", "yawn-sigh"),
        ("puh tuh kuh, puh tuh kuh, quick as you like", "puh-tuh-kuh"),
        ("here's a tongue twister, red lorry yellow lorry", "tongue-twisters"),
        ("puffing your cheeks out and keep the air in", "cheek-puff"),
        ("poke that tongue out, further, further", "tongue-out"),
        ("sweeping your tongue around your teeth, one way, then back", "tongue-sweep"),
        ("raising your eyebrows, as high as they go", "brow-raise"),
        ("wrinkle up your nose like the bins need doing", "nose-wrinkle"),
        ("breathing in for four and out for six, no rush", "ratio-counted-breath"),
        ("belly breaths first, hand on your tummy", "diaphragmatic-breathing"),
        ("purse your lips and blow it away", "pursed-lip-breathing"),
        ("nose over your toes, and up out of the chair", "sit-to-stand"),
        ("10 heel raises, fingertips on the worktop", "heel-raise"),
        ("if you're steady try standing on one foot", "single-leg-stance"),
        ("march on the spot for me till the music stops", "marching"),
        ("touch your thumb to each finger, there and back", "thumb-opposition"),
        ("palms up, palms down, that's it", "palm-up-palm-down"),
        ("straighten your knee out in front, toes to the ceiling", "seated-knee-extension"),
        ("pumping your ankles, up and down, get the blood going", "ankle-pumps"),
        ("squeeze and lift your pelvic floor, and let it go", "pelvic-floor-slow"),
        ("eyes on the target and turn your head, small turns", "gaze-stability-side"),
        ("what's the opposite of narrow?", "opposites"),
        ("which one is the odd one out there?", "odd-one-out"),
        ("name as many animals as you can before the bell", "category-naming"),
        ("first tense and release your hands", "progressive-muscle-relaxation"),
    ],
)
def test_exercises_are_found_in_untidy_talk(text: str, exercise: str) -> None:
    assert exercise in strong(text)


@pytest.mark.parametrize(
    ("text", "exercise"),
    [
        # As a recogniser wrote them.
        ("this one is the effort will swallow", "effortful-swallow"),
        ("now the mesoco", "tongue-hold-swallow"),
        ("the Mendosom is next", "laryngeal-elevation-hold"),
        ("and a steady all for me", "sustained-ah"),
        ("right here to your shoulder", "ear-to-shoulder"),
        # As it is likely to write them (common practice, no source).
        ("lip thrills for a minute", "lip-trill"),
        ("ten heal raises", "heel-raise"),
        ("put a cup put a cup put a cup", "puh-tuh-kuh"),
    ],
)
def test_misheard_names_count_for_less(text: str, exercise: str) -> None:
    (mention,) = find_mentions(words(text), CATALOGUE)
    assert (mention.exercise, mention.strength) == (exercise, MISHEARD)


@pytest.mark.parametrize(
    "text",
    [
        "It's raining again and they say the wind will pick up by Thursday.",
        "Could somebody hold the door for Jean, please?",
        "It was a breath of fresh air when they painted the hall.",
        "The car park is full, so you'll be parking round the back.",
        "I popped to the shops for milk, butter and a loaf of bread.",
        "We took a photo and everyone had a big smile.",
        "Please push the tables against the wall and take a seat.",
        "I read the news this morning and it's all gloom.",
        "Turn the key in the blue cupboard, the tea is in there.",
        "We couldn't get the video to play, they had us on hold for an hour.",
        "The bridge is closed so I came the long way round.",
        "Forms are due on Friday, hand them to me or leave them on the desk.",
        "I lost my glasses and they were on my head the whole time.",
        "We saw a film with a fire engine in it, the children loved it.",
        "Put your coat over the back of the chair.",
        "The nurse said to ring before ten in the morning.",
        "They had cheese rolls and a cake with candles.",
        "Let me share my screen, can you hear me now?",
        "My neighbour was swallowed up by the crowd at the match.",
        "His voice went up when he saw the price of petrol.",
        "I couldn't put my finger on it, it was on the tip of my tongue.",
        "She kept a straight face and walked straight out.",
        "Keep your chin up, the weather is on the turn.",
        "There's a queue down the left hand side, so use the other entrance.",
        "My knees aren't what they were, but the garden won't dig itself.",
        "He raised his hand and asked about the bus times.",
        "Does anybody want the last biscuit, or shall I close the tin?",
        "We had salt and pepper, and a cup of something warm.",
    ],
)
def test_small_talk_names_no_exercise(text: str) -> None:
    assert strong(text, least=WEAK + 0.01) == set()


def test_most_small_talk_gives_nothing_at_all() -> None:
    quiet = "the weather was kind and we sat outside with the paper until the shop shut at four"
    assert find_mentions(words(quiet), CATALOGUE) == []


def test_the_longest_phrase_wins() -> None:
    mentions = find_mentions(words("this is the super-supraglottic swallow today"), CATALOGUE)
    assert [(m.exercise, m.strength) for m in mentions] == [("super-supraglottic-swallow", NAMED)]


def test_a_phrase_of_several_exercises_names_all_of_them_weakly() -> None:
    mentions = find_mentions(words("and now the head lift"), CATALOGUE)
    assert {m.exercise for m in mentions} == {"head-lift-hold", "head-lift-repeats"}
    assert {m.strength for m in mentions} == {SHARED}
    assert len({(m.first, m.last) for m in mentions}) == 1


def test_strength_follows_how_it_was_said() -> None:
    (name,) = find_mentions(words("now the shoulder rolls"), CATALOGUE)
    (said,) = find_mentions(words("now roll your shoulders"), CATALOGUE)
    (weak,) = find_mentions(
        words("now a smile please").copy(), Catalogue(exercises=(CATALOGUE.by_id("lip-spread"),))
    )
    assert (name.strength, said.strength, weak.strength) == (NAMED, SAID, WEAK)


@pytest.mark.parametrize(
    "text",
    [
        "not the shoulder rolls this week",
        "we won't do the shoulder rolls",
        "skip the shoulder rolls if you're sore",
        "don't do any shoulder rolls yet",
    ],
)
def test_a_denial_lowers(text: str) -> None:
    (mention,) = find_mentions(words(text), CATALOGUE)
    assert mention.exercise == "shoulder-rolls"
    assert mention.strength < SHARED


@pytest.mark.parametrize(
    "text", ["No, not yet. Now the shoulder rolls", "if you can't, watch: shoulder rolls", "no, shoulder rolls"]
)
def test_a_denial_ends_with_its_clause(text: str) -> None:
    assert find_mentions(words(text), CATALOGUE)[-1].strength == NAMED


def test_no_phrase_runs_across_a_full_stop() -> None:
    assert find_mentions(words("Put that on the shoulder. Rolls are on the table"), CATALOGUE) == []


def test_a_mention_has_the_times_of_its_words() -> None:
    (mention,) = find_mentions(words("now please look over your left shoulder again"), CATALOGUE)
    assert (mention.first, mention.last) == (2, 7)
    assert (mention.start_ms, mention.end_ms) == (600, 2050)


def test_no_words_no_mentions() -> None:
    assert find_mentions([], CATALOGUE) == []
    assert find_mentions(words("… ! 'um' uh"), CATALOGUE) == []
    assert find_mentions(words("shoulder rolls"), Catalogue(exercises=())) == []


def test_every_phrase_of_the_catalogue_is_found_again() -> None:
    lost = []
    for exercise in CATALOGUE.exercises:
        for phrase in (exercise.name, exercise.plain, *exercise.says, *exercise.misheard):
            found = {m.exercise for m in find_mentions(words(phrase), CATALOGUE)}
            if exercise.id not in found:
                lost.append((exercise.id, phrase, found))
    assert lost == []


def test_inflections_meet() -> None:
    """Regular English inflection: doubled consonant, dropped e, -y to -ies, as any grammar teaches it."""
    for group in (
        "swallow swallows swallowed swallowing",
        "hum hums hummed humming",
        "glide glides glided gliding",
        "squeeze squeezes squeezed squeezing",
        "take takes taking",
        "carry carries carried carrying",
        "press presses pressed pressing",
        "hold holds holding held",
        "raise raises raised raising",
        "tap taps tapped tapping",
    ):
        assert len({stem(word) for word in group.split()}) == 1, group
    apart = ["tape", "tap", "hop", "hope", "swing", "ring", "thing", "pursed", "nurse", "bread", "breath"]
    assert len({stem(word) for word in apart}) == len(apart)


@settings(max_examples=60)
@given(
    st.lists(
        st.sampled_from(
            ["roll", "your", "shoulders", "swallow", "hard.", "head", "lift", "not", "ah,", "left", "um", "turn"]
        )
    )
)
def test_mentions_lie_inside_and_do_not_cross(said: list[str]) -> None:
    heard = words(" ".join(said))
    mentions = find_mentions(heard, CATALOGUE)
    spans = Counter((m.first, m.last) for m in mentions)
    covered = [at for first, last in spans for at in range(first, last)]
    assert len(covered) == len(set(covered))
    assert all(0 <= m.first < m.last <= len(heard) and 0 < m.strength <= 1 for m in mentions)
    assert [m.first for m in mentions] == sorted(m.first for m in mentions)
