"""E-mail addresses as the record keeps them: in lower case, without stray spaces."""

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from lifecycle.records.refusal import Refused

ADDRESS_LENGTH = 254


def plain_address(text: str, field: str = "email") -> str:
    """Return an e-mail address as it is kept. Raises Refused for anything else."""
    address = text.strip().lower()
    try:
        validate_email(address)
    except ValidationError:
        raise Refused(
            f"“{address[:60]}” is not an e-mail address. Type it whole, such as anna@example.org.",
            field,
        ) from None
    if len(address) > ADDRESS_LENGTH:
        raise Refused(f"Keep the address to {ADDRESS_LENGTH} characters.", field)
    return address
