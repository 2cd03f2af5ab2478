"""A population of invented laptops with injected faults, to score fault location by.

The generator is not the engine's model: it has fault *types* with their own
symptoms, where the engine has one chance a component and check; rates differ from
case to case; checks of one fault rise and fall together; what one fault never
shows it does not show at a repeat either; old counters raise the same false alarm
in every run. Start: ``python -m tests.simulation``.
"""
