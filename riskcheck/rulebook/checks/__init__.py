"""The rulebook checks itself: one small class per kind of fault."""

from __future__ import annotations

from collections.abc import Iterable

from riskcheck.rulebook.checks import (
    cases,
    facts,
    figures,
    limits,
    logic,
    names,
    platforms,
    remedies,
    values,
    words,
)
from riskcheck.rulebook.checks.base import Check
from riskcheck.rulebook.folder import Draft
from riskcheck.yamlfile import Fault

ALL_CHECKS: tuple[type[Check], ...] = (
    facts.OneDerivation,
    facts.FactShape,
    facts.FactShares,
    facts.UnknownTopics,
    facts.TopicHazards,
    facts.AskableFacts,
    facts.PhysicsInputs,
    names.UnknownNames,
    names.ReservedNames,
    names.NameForm,
    names.CausesShared,
    names.HashCollisions,
    values.FindingValues,
    values.FactConstants,
    values.ImpossibleConditions,
    logic.Cycles,
    logic.RequiredAndNegated,
    logic.UnreachableFindings,
    logic.RuleNeverFires,
    logic.StatusImpliesApplies,
    logic.ClosedAndUnproven,
    limits.TooManyComparisons,
    limits.TooManyConditions,
    limits.TableTooLarge,
    figures.FigureUnits,
    figures.FigureBounds,
    figures.OutcomeShares,
    figures.FactorFindings,
    figures.HarmOnce,
    figures.InfantWindow,
    remedies.OpensKnownHazard,
    remedies.KeptAge,
    remedies.InfantRemedies,
    remedies.ReExposure,
    remedies.RemedyIds,
    platforms.PlatformFeatures,
    platforms.PlatformYears,
    platforms.PlatformConflicts,
    cases.CasesBesideHazard,
    cases.CaseFacts,
    cases.CaseStatuses,
    cases.ThresholdCases,
    words.Overclaims,
    words.TypedOdds,
    words.Placeholders,
    words.EmptyText,
    words.CitedSources,
)


def all_faults(draft: Draft) -> list[Fault]:
    """What reading found and what every check finds, in file and line order."""
    return _faults(draft, ALL_CHECKS)


def blocking_faults(draft: Draft) -> list[Fault]:
    """Only the faults with which no answer could be trusted."""
    return _faults(draft, [check for check in ALL_CHECKS if check.blocks])


def _faults(draft: Draft, checks: Iterable[type[Check]]) -> list[Fault]:
    found = {fault for check in checks for fault in check().faults(draft)}
    return sorted({*draft.faults, *found})
