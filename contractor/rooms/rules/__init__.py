"""What the survey means for the work, by rules that the office edits.

    sheet = rule_sheet(job)                          # four queries, once for a page
    verdicts(patch, sheet=sheet)                     # what must be done to the patch, whatever is built on it
    verdicts(patch, build_up, sheet=sheet)           # the same, and what speaks for or against the build-up there
    blocks(verdicts(...))                            # those that forbid it; empty where it may be built

`build_up` has its layers and their materials loaded (rooms.inputs.build_ups_with_layers).
"""

from contractor.rooms.rules.sheet import RuleSheet, rule_sheet
from contractor.rooms.rules.verdicts import Override, Verdict, Work, blocks, verdicts, works

__all__ = ["Override", "RuleSheet", "Verdict", "Work", "blocks", "rule_sheet", "verdicts", "works"]
