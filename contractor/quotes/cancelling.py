"""The homeowner's right to change their mind, as dates. The firm's adviser confirms that the rule fits each contract."""

from datetime import date, timedelta

CANCEL_DAYS = 14


def last_day_to_cancel(accepted_on: date) -> date:
    """The last day on which the contract can be cancelled.

    Fourteen days, the first of which is the day after the contract is made: Consumer Contracts (Information,
    Cancellation and Additional Charges) Regulations 2013, regulation 30, for a contract of services (from memory; where
    goods come with the work guidance lets the period run from the last delivery, which is later, never earlier).
    """
    return accepted_on + timedelta(days=CANCEL_DAYS)
