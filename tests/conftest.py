"""What every test may use."""

from hypothesis import settings

# A busy machine is slow now and then; a property is about what comes out, never about how fast.
settings.register_profile("wallbill", deadline=None)
settings.load_profile("wallbill")
