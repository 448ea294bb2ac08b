"""The least time for things that share limbs, against every way to begin them."""

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.planning.sidebyside import Job, least_time_s

HANDS = ("fretting hand", "picking hand")
LIMBS = st.sampled_from([(HANDS[0],), (HANDS[1],), HANDS, ("right foot",)])


@st.composite
def few_jobs(draw):
    """Up to four jobs of one to three seconds, each waiting for some of those before it."""
    jobs = []
    for index in range(draw(st.integers(1, 4))):
        waits = draw(st.sets(st.integers(0, index - 1))) if index else set()
        jobs.append(Job(draw(st.integers(1, 3)), draw(LIMBS), tuple(waits)))
    return jobs


def by_every_second(jobs):
    """Every job begun at every whole second; the earliest end of those where no limb does two things at once."""
    long = int(sum(job.seconds for job in jobs))
    best = long
    for begins in product(*(range(long - int(job.seconds) + 1) for job in jobs)):
        ends = [begin + job.seconds for begin, job in zip(begins, jobs, strict=True)]
        allowed = all(ends[i] <= begins[k] for k, job in enumerate(jobs) for i in job.waits_for) and all(
            not set(a.limbs) & set(b.limbs) or ends[i] <= begins[k] or ends[k] <= begins[i]
            for i, a in enumerate(jobs)
            for k, b in enumerate(jobs)
            if i < k
        )
        if allowed:
            best = min(best, max(ends))
    return best


@settings(max_examples=60, deadline=None)
@given(few_jobs())
def test_no_way_of_beginning_them_ends_sooner(jobs):
    assert least_time_s(jobs) == by_every_second(jobs)


def test_two_hands_work_side_by_side():
    assert least_time_s([Job(3, (HANDS[0],)), Job(2, (HANDS[1],))]) == 3


def test_one_hand_does_one_thing_after_another():
    assert least_time_s([Job(3, (HANDS[0],)), Job(2, (HANDS[0],))]) == 5


def test_the_order_that_comes_to_mind_first_is_not_taken_where_another_is_better():
    """The picking hand first, because most waits for it, would take 10 s: the fretting hand would stand idle."""
    picking, fretting = (HANDS[1],), (HANDS[0],)
    jobs = [Job(3, picking), Job(3, HANDS), Job(2, fretting, (1,)), Job(2, fretting, (0,)), Job(1, picking)]
    assert least_time_s(jobs) == 8


def test_hundreds_of_things_are_done_too():
    assert least_time_s([Job(1, (HANDS[0],))] * 300) == 300


def test_nothing_to_do_takes_no_time():
    assert least_time_s([]) == 0
