"""Rules by subject; verdict runs them. Every module here is registered. Pure: nothing is opened here."""

from delivery.rules.rule import Rule, Scope
from delivery.rules.verdict import acceptable, judge, rule_ids, rules, unknown_waivers

__all__ = ["Rule", "Scope", "acceptable", "judge", "rule_ids", "rules", "unknown_waivers"]
