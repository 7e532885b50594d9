"""How much a volume of red cells is expected to raise the haemoglobin: plain arithmetic."""

from server.domain.policy import Policy

STEP_G_L = 10  # the policy value says which volume a kilogram needs for so much


def expected_rise_g_l(volume_ml: float, weight_kg: float, policy: Policy) -> float:
    """Answer the expected rise in g/L."""
    return volume_ml / weight_kg / policy.review_rise_ml_kg * STEP_G_L
