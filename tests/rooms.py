"""Which folders of tests are a part of the whole run by themselves."""

PURE = (
    "tests/codes",
    "tests/incoming",
    "tests/labels",
    "tests/ledger",
    "tests/pictures",
    "tests/plan",
)
"""No database: the rooms of the same names import no Django."""

BROWSER = "tests/browser"

SAME_FROM_EITHER = {
    "words, links and paper of pages whose rows other tests ask both databases for": {
        "tests/inventory/test_never_fetched.py": ("test_no_spelling_of_an_address_is_fetched",),
        "tests/kitting/test_calling_in.py": (
            "test_it_rings_until_taken_and_the_answer_is_on_every_screen",
        ),
        "tests/kitting/test_cautions_stand.py": (
            "test_every_caution_stands_where_its_work_is_done",
        ),
        "tests/kitting/test_unboxing.py": (
            "test_a_page_marks_what_waits_for_a_scan_and_nothing_else",
        ),
        "tests/pages/test_ways.py": ("test_every_way_that_is_offered_may_be_gone",),
        "tests/stories/test_print_day.py": (
            "test_the_sheets_of_wall_and_scanner_read_back_as_they_are_handed_out",
        ),
    },
    "a story's touches and minutes; its acts have tests of their own, on both": {
        "tests/kitting/test_ticking.py": (
            "test_a_stack_is_ticked_by_six_touches_and_one_photo",
            "test_other_days_ask_only_for_what_they_touch",
        ),
        "tests/stories/test_a_recall.py": ("test_who_stands_before_it_reads_it_and_nobody_else",),
        "tests/stories/test_a_van_over_two_jobs.py": ("test_a_van_over_two_jobs",),
        "tests/stories/test_changes.py": (
            "test_a_kit_is_changed_after_picking_and_worked_through_by_scanning",
            "test_the_crew_says_what_differs_and_takes_it_from_the_van",
        ),
        "tests/stories/test_manager_plan.py": (
            "test_a_job_is_planned_and_released_from_two_pages",
            "test_the_week_tells_which_job_will_break_and_why",
        ),
        "tests/stories/test_second_technician.py": ("test_the_list_shows_only_own_jobs",),
        "tests/stories/test_technician_day.py": (
            "test_a_job_is_finished_and_closed_with_three_touches",
            "test_the_kit_is_seen_again_at_the_house_within_three_minutes",
        ),
        "tests/stories/test_warehouse_day.py": (
            "test_a_kit_is_picked_in_the_order_of_its_page_and_loaded_with_one_scan_a_piece",
            "test_twenty_four_cartons_are_received_within_two_minutes",
        ),
        "tests/stories/test_which_ones.py": (
            "test_a_manager_takes_what_a_job_lacks_out_of_another_kit",
            "test_a_hand_takes_another_than_the_one_offered",
        ),
    },
}
"""Why -> file -> tests that do not run again on PostgreSQL though they use a database. Never one of
a law, the ledger, what happens at once, a query's own rows, a migration, a digest or the API; and
only one whose every statement, numbers aside, some other test sends to both databases."""

ON_ONE_DATABASE = frozenset(
    f"{file}::{test}"
    for files in SAME_FROM_EITHER.values()
    for file, tests in files.items()
    for test in tests
)
