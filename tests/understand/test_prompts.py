from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.lesson import Word
from segmenter.understand.prompts import find_prompts
from tests.understand.speaking import short, spoken

PAUSES: list[tuple[str, str | None]] = [
    ("If you're watching the recording, stop it here and do ten.", "home reps=10"),
    ("Press pause and finish the set.", None),
    ("Pop the video on hold and carry on.", None),
    ("This is your pause point.", None),
    ("Hit stop, do your twenty, then come back.", "home reps=20"),
    ("Pause me now.", None),
    ("You can freeze the picture while you practise.", None),
    ("Take as long as you want before pressing play.", "home"),
    ("Recording people: halt here for one full minute.", "home hold=60"),
    ("Stop the tape and try three on your own.", "home reps=3"),
    ("I'll wait for the people in the room; you at home can pause.", None),
    ("Give yourself extra time, just pause.", None),
    ("Pause, practise, play.", None),
    ("Put me on pause and do the other side as well.", None),
    ("Leave the video here and work on it until it feels easy.", "home"),
    ("This would be a fine moment to pause.", None),
    ("Stop, do it five times, then join us again.", "home reps=5"),
    ("Now stop the video here and do six more, with a good rest between them.", "home reps=6"),
    ("Hold me here and do that for more times.", "home reps=4"),
    ("Pause me and do another eight on each side.", "home reps=8 side=both"),
    ("Switch me off for a minute and have a go.", None),
    ("Put me on hold while you do five of those.", "home reps=5"),
    ("Tap the pause button, please, and hold for ten seconds three times.", "home reps=3 hold=10"),
    ("Press the button and do a dozen on your own.", "home reps=12"),
    ("Those of you at home, pause here and do two sets of five.", "home reps=5 sets=2"),
    ("Stop me there and do seven more slow ones.", "home reps=7"),
    ("Freeze the screen, and swallow four more times.", "home reps=4"),
    ("Let the recording wait while you do your set.", None),
    ("pause the video now and do 10 more", "home reps=10"),
    ("Here's a good place to stop the recording and practise.", None),
]

ALSO_PAUSES = [
    "Hit the pause button now and finish your ten.",
    "I'd stop the video at this point and have a practice.",
    "Now, put me on pause, get your mirror, and try it.",
    "If you need longer, just pause the film.",
    "Stop me here, do your other side, and start me again.",
    "Everyone at home, this is where you stop the recording.",
    "Tap your screen to pause, then do eight.",
    "Time for you to stop the video and do five by yourself.",
    "Go on, press pause.",
    "You can leave me on hold for that.",
    "Hold me on pause while you do ten at home.",
    "Now I'd like you to pause.",
    "Park the video for a minute or two.",
]

PAUSES_BY_OTHER_WORDS = [
    "You can switch me off a minute and do your eight in peace.",
    "So you might leave me there on hold and try six lying back.",
    "Those of you at home may suspend the recording at this point and perform three more.",
    "If you're on your own, rest the recording here and do each arm three more times.",
    "Put your finger on the stop, do your five, and then come back.",
    "You there in your own kitchens, hit the button and do one minute of marching.",
    "Okay, so stop us there, do your spoons, and come back when you've finished.",
    "In the house you take me off and repeat it six times.",
]

NO_PAUSE = [
    "Take a moment to pause and reflect.",
    "Let your breath pause at the top.",
    "Please stop talking.",
    "We stop for tea at three.",
    "The recording will be sent round.",
    "Freeze! Hold that pose.",
    "Stop when I clap.",
    "Hold the video call open.",
    "Keep the tape measure handy.",
    "Pull over and stop the car.",
    "Pause between swallows.",
    "Leave a small pause, then go again.",
    "Pause for thought.",
    "Stop if it hurts.",
    "Stop here if you feel dizzy.",
    "Breathe in. Pause. Breathe out.",
    "Pause at the top, then lower slowly.",
    "Pause and feel the stretch.",
    "I'll stop the recording now.",
    "You can pause the video at any time.",
    "Feel free to pause me whenever you need a rest.",
    "I'll tell you when to pause the recording.",
    "If you paused, nice work.",
    "Stop me if you've heard this one.",
    "Don't stop the movement halfway.",
    "Don't pause the video yet.",
    "The recording goes up tomorrow.",
    "Today's recording stops before the chat.",
    "Turn your video off if you'd rather not be seen.",
    "Hold the ball under your chin.",
    "Hold the back of the chair here and lift your heel.",
    "Press the tongue up and hold.",
    "We had to stop the class early last week.",
    "Stop at a stretch, never at a pain.",
    "Keep going until I say stop.",
    "Shall I stop the recording?",
    "No pause this time, straight on.",
    "Stop the sound cleanly and start again.",
]

RETURNS = [
    "Welcome back.",
    "Good, you're with us again.",
    "Right, we're back.",
    "How did that go?",
    "Hope you managed all ten.",
    "And here we are again.",
    "Back together now.",
    "Everyone back in their seats?",
    "Let's pick up where we stopped.",
    "Thanks for coming back.",
    "Did you do the other side too?",
    "Lovely to have you again.",
    "Play pressed? Great.",
    "On we go.",
    "I trust you practised.",
    "Ready for the next bit?",
    "Back in the room.",
    "Hello again.",
    "I hope all six of them behaved.",
]


@pytest.mark.parametrize(("said", "dose"), PAUSES)
def test_asking_viewers_to_stop_is_found_with_its_dose(said: str, dose: str | None) -> None:
    prompts = find_prompts(spoken(said))
    assert [prompt.kind for prompt in prompts] == ["pause"]
    assert (short(prompts[0].ask) if prompts[0].ask else None) == dose
    assert prompts[0].text == said


@pytest.mark.parametrize("said", [*ALSO_PAUSES, *PAUSES_BY_OTHER_WORDS])
def test_many_wordings_ask_for_a_stop(said: str) -> None:
    assert [prompt.kind for prompt in find_prompts(spoken(said))] == ["pause"]


@pytest.mark.parametrize("said", NO_PAUSE)
def test_other_pauses_and_stops_are_no_prompts(said: str) -> None:
    assert find_prompts(spoken(said)) == []


@pytest.mark.parametrize("said", RETURNS)
def test_a_welcome_back_after_a_pause_is_a_return(said: str) -> None:
    prompts = find_prompts(spoken(f"Pause me here and do four more. [2500] {said}"))
    assert [prompt.kind for prompt in prompts] == ["pause", "return"]
    assert prompts[0].end_ms <= prompts[1].start_ms


@pytest.mark.parametrize("said", [*RETURNS, "Welcome back, everyone, to our Tuesday class."])
def test_a_welcome_without_a_pause_before_it_only_greets(said: str) -> None:
    assert find_prompts(spoken(said)) == []


@pytest.mark.parametrize(
    "said",
    [
        "Come back to the middle.",
        "Sit back and rest.",
        "Now your back is straight.",
        "Hold on to the back of the chair.",
    ],
)
def test_a_back_that_is_no_return(said: str) -> None:
    assert [p.kind for p in find_prompts(spoken(f"Pause me here. [2500] {said}"))] == ["pause"]


def test_the_span_covers_the_whole_request() -> None:
    words = spoken("Lovely. Stop the video here. Do six more on each side. Then press play. [2000] Welcome back.")
    pause, back = find_prompts(words)
    texts = [word.text for word in words]
    assert pause.start_ms == words[texts.index("Stop")].start_ms
    assert pause.end_ms == words[texts.index("play.")].end_ms
    assert pause.ask is not None
    assert short(pause.ask) == "home reps=6 side=both"
    assert back.start_ms == words[texts.index("Welcome")].start_ms


def test_a_request_goes_on_to_the_silence_in_which_it_is_followed() -> None:
    request = "So pause the film. Do three on that side. And give the fingers a shake."
    for after in ("[2500] Back are we, good.", "Welcome back."):
        pause = find_prompts(spoken(f"{request} {after}"))[0]
        assert pause.text == request
    (pause,) = find_prompts(
        spoken("Pause the film. Do three on that side. And this is what my sister said about it.")
    )
    assert pause.text == "Pause the film. Do three on that side."


def test_the_next_exercise_is_not_taken_into_the_request() -> None:
    (pause,) = find_prompts(spoken("Pause me and do five more. Now we come to the tongue. Do ten of these."))
    assert pause.text == "Pause me and do five more."


def test_a_dose_said_just_before_belongs_to_the_stop() -> None:
    (pause,) = find_prompts(spoken("At home do seven more. Pause me while you do them."))
    assert pause.ask is not None
    assert short(pause.ask) == "home reps=7"


def test_a_late_greeting_is_no_return() -> None:
    assert [p.kind for p in find_prompts(spoken("Pause me here and do five. [400000] Hello again."))] == ["pause"]


_SOME = st.sampled_from(
    [
        "pause",
        "stop",
        "me",
        "the",
        "video",
        "here",
        "and",
        "do",
        "four",
        "more",
        "welcome",
        "back",
        ".",
        "press",
        "hold",
        "on",
        "your",
        "own",
        "ten",
    ]
)


@settings(max_examples=60)
@given(st.lists(st.one_of(_SOME, st.text(min_size=1, max_size=8)), max_size=30), st.integers(0, 1500))
def test_any_words_give_prompts_in_order_inside_the_class(tokens: list[str], gap: int) -> None:
    words = [Word(text=t, start_ms=i * (200 + gap), end_ms=i * (200 + gap) + 200) for i, t in enumerate(tokens)]
    prompts = find_prompts(words)
    assert [p.start_ms for p in prompts] == sorted(p.start_ms for p in prompts)
    for prompt in prompts:
        assert words[0].start_ms <= prompt.start_ms < prompt.end_ms <= words[-1].end_ms
        assert 0 < prompt.confidence <= 1
        assert prompt.ask is None or prompt.ask.where == "home"
    kinds = "".join(p.kind[0] for p in prompts)
    assert not kinds.startswith("r")
    assert "rr" not in kinds
