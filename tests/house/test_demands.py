"""Published demands that are said to be met fully, each with the tests that show it."""

import ast
import re
from pathlib import Path

import benchrun.record

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests"
GRADES = ("fully", "in part: ", "the author's", "the shop's")

# Of each row a test by its file and name, or the heading of a slip that is refused in plain words.
PROCEDURES = {
    "P02": "dialogue/test_revisions.py::"
    "test_a_run_that_goes_on_is_told_of_a_newer_or_a_withdrawn_revision; "
    "dialogue/test_revisions.py::test_what_changed_since_the_last_run_is_told_before_the_begin",
    "P36": "run/test_holds.py::test_who_works_alone_checks_on_the_next_day; "
    "run/test_holds.py::test_a_shop_of_several_has_another_person_or_nobody",
    "P37": "run/test_holds.py::test_a_hold_is_never_skipped_for_any_reason; "
    "run/test_holds.py::"
    "test_a_waiver_needs_the_role_and_a_reason_and_counts_once_it_is_signed",
    "P39": "run/test_holds.py::test_the_start_of_a_critical_step_is_entered_before_it_is_done",
    "P57": "session/test_waiver.py::test_without_its_release_a_closed_run_is_not_released; "
    "session/test_waiver.py::test_a_waiver_is_signed_and_the_front_says_not_released_first",
    "P04": "dialogue/test_revisions.py::test_the_page_before_the_begin_says_which_revision_it_is",
    "P05": "procedure/test_advice.py::"
    "test_a_hazard_that_no_step_names_is_told_and_one_without_an_id; "
    "mistake: advice on a caution at the step alone; "
    "procedure/test_language.py::test_a_hazard_is_shown_again_where_a_step_names_it",
    "P09": "procedure/test_sentences.py::"
    "test_a_bad_sentence_brings_the_one_advice_that_it_needs; mistake: advice on no verb",
    "P10": "procedure/test_sentences.py::"
    "test_a_bad_sentence_brings_the_one_advice_that_it_needs; mistake: advice on a second action",
    "P12": "procedure/test_sentences.py::"
    "test_a_bad_sentence_brings_the_one_advice_that_it_needs; mistake: advice on a missing comma",
    "P17": "procedure/test_sentences.py::"
    "test_a_verb_has_one_meaning_and_another_name_leads_to_it; "
    "procedure/test_guide.py::test_the_guide_lists_all_verbs_each_with_its_one_meaning; "
    "shop/test_shop_verbs.py::test_a_verb_of_the_shop_is_taken_by_check",
    "P18": "procedure/test_sentences.py::"
    "test_a_bad_sentence_brings_the_one_advice_that_it_needs; mistake: advice on a late condition",
    "P19": "procedure/test_advice.py::test_what_could_be_better_is_said; "
    "mistake: advice on and with or",
    "P21": "mistake: advice on scrap in doubt; "
    "procedure/test_advice.py::test_what_could_be_better_is_said",
    "P22": "mistake: advice on a step by its number; mistake: a rework to no step",
    "P46": "procedure/test_sentences.py::test_a_caution_tells_and_orders_nothing",
    "P56": "run/test_close_lines.py::"
    "test_no_order_of_ticks_signs_a_release_with_a_line_untold; "
    "dialogue/test_close_asked.py::test_what_is_not_done_has_its_reason_and_stays_in_sight; "
    "screen/test_expected_pages.py::test_the_pages_of_one_run_from_board_to_end",
    "P06": "screen/test_made_ready.py::"
    "test_each_condition_is_entered_with_who_and_when_and_the_tools_with_their_numbers; "
    "dialogue/test_flows_beside.py::"
    "test_a_condition_that_is_not_so_stops_the_begin_and_going_back_asks_the_one_before",
    "P07": "shop/test_shop_commands.py::test_what_a_procedure_lacks_ends_with_1; "
    "run/test_unfit_instruments.py::"
    "test_a_reading_that_wants_a_calibrated_instrument_says_that_it_had_none; "
    "shop/test_instruments.py::"
    "test_a_row_without_an_uncertainty_takes_the_one_that_the_procedure_counts_with",
    "P08": "run/test_tool_counts.py::"
    "test_a_shortfall_needs_a_reason_and_is_a_deviation_that_the_report_keeps; "
    "screen/test_made_ready.py::"
    "test_a_tool_that_lacks_at_the_end_asks_a_reason_and_stands_in_the_report",
    "P13": "plain/test_plain_notes.py::test_a_free_order_and_how_many_people_are_said",
    "P15": "run/test_who_does_it.py::test_another_role_needs_a_reason_and_the_record_keeps_it",
    "P26": "plain/test_plain_notes.py::test_each_pass_is_named_once_with_its_number",
    "P27": "report/test_facts_and_rows.py::test_tending_is_counted_for_the_load_that_was_tended",
    "P30": "plain/test_plain_notes.py::test_a_free_order_and_how_many_people_are_said; "
    "screen/test_made_ready.py::"
    "test_a_tool_that_lacks_at_the_end_asks_a_reason_and_stands_in_the_report",
    "P31": "plain/test_plain_notes.py::"
    "test_a_condition_that_goes_on_is_said_at_each_of_its_steps_and_no_longer",
    "P54": "dialogue/test_carry_out.py::"
    "test_it_is_begun_for_these_parts_and_stands_on_the_board; "
    "rehearse/test_carried_out.py::"
    "test_the_run_that_carried_it_out_is_in_the_log_with_its_head; mistake: a procedure in itself",
    "P59": "run/test_not_as_written.py",
    "P11": "procedure/test_advice.py::test_what_could_be_better_is_said",
    "P14": "procedure/test_language.py::test_numbers_follow_the_reading_order; "
    "mistake: an id twice",
    "P16": "dialogue/test_batch_choice.py::"
    "test_kinds_identities_and_sizes_come_from_the_book_and_only_what_it_lacks_is_asked",
    "P23": "mistake: one way only; "
    "procedure/test_passes.py::test_a_choice_works_out_the_way_that_it_takes_alone",
    "P24": "run/test_urgency.py::test_a_recoat_window_opens_is_due_and_closes; "
    "run/test_alarm_book.py::test_a_window_calls_before_it_closes_and_when_it_is_closed",
    "P25": "procedure/test_language.py::"
    "test_a_repeat_has_a_head_a_tail_and_its_steps_within; "
    "rehearse/test_paths.py::test_a_sketch_chooses_what_ends_a_repeat",
    "P28": "mistake: at most without until; mistake: an until that never comes",
    "P29": "procedure/test_language.py::test_a_grid_is_measured_plane_by_plane; "
    "procedure/test_rehearsed_words.py::test_a_grid_is_read_place_by_place",
    "P03": "rehearse/test_approving.py::"
    "test_an_approval_says_who_when_and_what_stands_behind_it; "
    "rehearse/test_approving.py::test_a_run_carries_the_approval_of_its_procedure",
    "P60": "rehearse/test_approving.py::"
    "test_an_approval_says_who_when_and_what_stands_behind_it; "
    "rehearse/test_approving.py::"
    "test_what_is_not_fit_to_be_approved_is_refused_with_what_would_do",
    "P32": "run/test_witness.py::test_who_came_is_kept_with_whom_they_came_for_and_is_never_early",
    "P38": "run/test_witness.py::"
    "test_a_notice_has_run_out_when_its_time_is_over_and_not_before; "
    "run/test_witness.py::test_word_that_nobody_comes_ends_the_wait_at_once",
    "P33": "mistake: a reading without a unit; mistake: a limit without a unit",
    "P34": "quantity/test_convert.py::test_conversions_are_exact; "
    "dialogue/test_typed_values.py::test_the_words_are_in_the_unit_of_the_step",
    "P35": "procedure/test_formula.py::test_a_sum_has_its_value_in_the_unit_asked_for; "
    "report/test_facts_and_rows.py::test_sums_show_the_numbers_that_went_in",
    "P40": "plain/test_plain_amend.py::"
    "test_a_step_is_left_out_a_question_raised_a_part_joins; "
    "dialogue/test_acts_asked.py::test_a_deviation_asks_for_parts_and_a_reason",
    "P41": "plain/test_plain.py::test_the_end_of_input_leaves_the_run_to_be_taken_up; "
    "session/test_every_cut.py::test_a_kill_at_a_call_leaves_nothing_or_a_run_that_is_made_whole; "
    "dialogue/test_acts_asked.py::test_another_person_goes_on_and_the_run_is_left",
    "P42": "mistake: a caution without a word; "
    "screen/test_tools.py::test_the_worst_caution_stands_first_and_its_weight_needs_no_colour",
    "P43": "mistake: a caution without a word; "
    "procedure/test_language.py::test_the_worst_hazard_stands_first",
    "P44": "procedure/test_language.py::test_the_worst_hazard_stands_first",
    "P45": "procedure/test_language.py::test_a_hazard_is_shown_again_where_a_step_names_it; "
    "screen/test_tools.py::test_a_page_that_cannot_hold_its_cautions_says_so",
    "P47": "procedure/test_advice.py::test_what_could_be_better_is_said",
    "P48": "screen/test_tools.py::"
    "test_the_worst_caution_stands_first_and_its_weight_needs_no_colour",
    "P49": "procedure/test_language.py::test_a_caution_of_the_stage_stands_before_its_first_step; "
    "procedure/test_language.py::test_no_way_into_a_stage_leads_past_its_cautions",
    "P51": "procedure/test_language.py::test_findings_have_their_consequences; "
    "mistake: a finding without consequence",
    "P52": "procedure/test_load_checks.py::test_a_procedure_without_stages_is_refused; "
    "screen/test_tools.py::test_a_short_rule_names_the_stage_in_hand_before_its_neighbours",
    "P53": "face/test_first_aid.py::test_one_key_shows_it_from_every_page; "
    "face/test_first_aid.py::test_line_by_line_it_is_said_at_any_question; "
    "face/test_first_aid.py::test_it_stands_before_the_begin_and_in_the_report",
    "P55": "session/test_drawings.py::"
    "test_reports_print_the_drawings_with_the_steps_that_name_them; "
    "session/test_drawings.py::test_the_page_why_leads_to_the_drawing_and_enter_opens_it; "
    "screen/test_drawing_shown.py::"
    "test_a_terminal_that_draws_shows_it_and_any_key_goes_back_to_the_page",
    "P58": "face/test_amended_told.py::test_show_prints_each_value_with_all_that_it_was; "
    "dialogue/test_instrument_of_a_reading.py::test_the_only_one_that_fits_is_taken_and_told",
}
RECORDS = {
    "11.10(b)": "report/test_facts_and_rows.py::test_the_json_holds_the_log_byte_for_byte; "
    "report/test_samples.py::test_a_sample_path_is_told_in_every_form",
    "11.10(e)": "face/test_amended_told.py::"
    "test_the_reports_for_reading_give_both_values_who_when_and_why; "
    "face/test_a_stranger.py::test_tampering_makes_a_run_not_whole_and_is_told_in_words",
    "11.50(a)": "session/test_identity.py::"
    "test_a_hold_that_its_person_signs_is_whole_and_its_key_is_known; "
    "dialogue/test_signing_list.py::"
    "test_the_list_is_in_the_line_that_is_signed_and_the_record_is_whole",
    "11.50(b)": "report/test_front.py::test_the_front_says_who_signed_for_what",
    "11.70": "session/test_identity.py::"
    "test_a_hold_stated_in_one_name_and_signed_with_anothers_key_is_a_fault; "
    "record/test_sshsig.py",
    "8 printouts": "face/test_amended_told.py::test_show_prints_each_value_with_all_that_it_was",
    "9 audit trails": "face/test_amended_told.py::"
    "test_the_reports_for_machines_give_both_values_who_when_and_why",
    "16 business continuity": "session/test_every_cut.py::"
    "test_a_kill_at_a_call_leaves_nothing_or_a_run_that_is_made_whole",
    "legible": "record/test_format.py::test_the_stock_tools_find_a_closed_run_whole",
    "original": "face/test_amended_told.py::test_show_prints_each_value_with_all_that_it_was",
    "complete": "face/test_verify_all.py::test_a_missing_run_is_a_fault; "
    "record/test_writer.py::test_a_torn_fragment_is_set_aside_and_named_until_it_is_entered",
    "consistent": "account/test_clocks_and_loads.py::"
    "test_a_wall_clock_that_was_set_is_a_doubt_with_how_far; "
    "face/test_stock_tools.py::test_stock_tools_tell_a_changed_byte",
    "available": "record/test_format.py::"
    "test_the_stock_tools_find_a_run_without_pictures_whole_and_leave_no_file_behind",
}


def rows_of(text, first):
    """The rows of the tables that have a column `how far`, by their first cell."""
    rows, at = {}, None
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if not line.startswith("|"):
            at = None
        elif "how far" in cells:
            at = cells.index("how far")
        elif at is not None and not line.startswith("|---"):
            rows[cells[0]] = cells[at]
    return {key: grade for key, grade in rows.items() if re.match(first, key)}


def demands():
    return rows_of((ROOT / "DEVELOPERS.md").read_text("utf-8"), r"P\d\d$")


def rules():
    page = Path(benchrun.record.__file__).with_name("FORMAT.md").read_text("utf-8")
    return rows_of(page.partition("## How it meets the rules for electronic records")[2], "")


def shown(proof):
    """Whether a proof is there: a test in its file, a file of tests, or a slip that is refused."""
    if proof.startswith("mistake: "):
        slips = (TESTS / "procedure" / "mistakes.txt").read_text("utf-8")
        return f"\n## {proof.removeprefix('mistake: ')}\n" in slips
    file, _, name = proof.partition("::")
    tree = ast.walk(ast.parse((TESTS / file).read_text("utf-8")))
    tests = (ast.FunctionDef, ast.AsyncFunctionDef)
    return not name or any(isinstance(n, tests) and n.name == name for n in tree)


def test_every_demand_says_how_far_it_is_met():
    assert list(demands()) == [f"P{number:02}" for number in range(1, 62)]
    assert len(rules()) == 50
    graded = {**demands(), **rules()}
    assert {key for key, grade in graded.items() if not grade.startswith(GRADES)} == set()


def test_what_is_met_fully_names_the_tests_that_show_it():
    for graded, proofs in ((demands(), PROCEDURES), (rules(), RECORDS)):
        assert {key for key, grade in graded.items() if grade == "fully"} == set(proofs)
        for key, named in proofs.items():
            assert all(shown(proof) for proof in named.split("; ")), key


def test_a_proof_that_is_not_there_is_noticed():
    assert not shown("record/test_format.py::test_nothing_of_the_kind")
    assert not shown("mistake: none of the kind")
