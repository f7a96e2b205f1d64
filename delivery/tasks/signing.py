"""Keys for the seal of a package: the sender's own, and those of trusted signers."""

from delivery.pack.seal import Signer, private_key, signers_in

__all__ = ["Signer", "private_key", "signers_in"]
