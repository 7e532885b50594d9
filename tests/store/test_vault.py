"""What is stored sealed opens with its key, in its place, and nowhere else."""

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from server.store.vault import NO_VAULT, SEALED, Vault, is_sealed

KEY = bytes(range(32))
VAULT = Vault(KEY)
TEXT = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


def test_a_text_is_sealed_and_opened() -> None:
    first, second = (VAULT.seal(TEXT, "pager") for _ in range(2))

    assert (VAULT.open(first, "pager"), VAULT.open(second, "pager")) == (TEXT, TEXT)
    assert first != second
    assert TEXT not in first + second + repr(VAULT)


@pytest.mark.parametrize(
    ("vault", "about", "spoilt"),
    [
        (Vault(bytes(32)), "pager", ""),
        (VAULT, "other", ""),
        (VAULT, "pager", "AAAA"),
        (NO_VAULT, "pager", ""),
    ],
    ids=["another key", "another row", "changed", "no key"],
)
def test_it_stays_sealed_for_everybody_else(vault: Vault, about: str, spoilt: str) -> None:
    sealed = VAULT.seal(TEXT, "pager") + spoilt

    assert vault.open(sealed, about) == sealed


def test_what_is_no_sealed_text_is_left_alone() -> None:
    for text in ("", TEXT):
        assert (VAULT.open(text, "pager"), NO_VAULT.seal(text, "pager")) == (text, text)
    sealed = VAULT.seal(TEXT, "pager")
    assert (VAULT.seal(sealed, "pager"), VAULT.seal("", "pager")) == (sealed, "")
    assert (is_sealed(sealed), is_sealed(TEXT)) == (True, False)
    assert not is_sealed(VAULT.open(SEALED + "AAAA", "x").removeprefix(SEALED))


def test_it_is_sealed_as_the_published_vector_says() -> None:
    """Test case 13 of the GCM specification by McGrew and Viega (from memory): all zeros."""
    sealed = AESGCM(bytes(32)).encrypt(bytes(12), b"", b"")

    assert sealed.hex() == "530f8afbc74536b9a963b4f1c4cb738b"
