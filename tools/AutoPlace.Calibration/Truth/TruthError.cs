namespace AutoPlace.Calibration.Truth;

/// <summary>How far a joint of the truth rig was off; lengths in percent of the true interocular distance.</summary>
/// <param name="Joint">Its name.</param>
/// <param name="Region">Its region.</param>
/// <param name="Error">Distance from the true place.</param>
/// <param name="AcrossRow">The part of it across the joint's row; null where it is in none.</param>
/// <param name="IsHeld">Whether its 90 % radius holds the error.</param>
/// <param name="Degrees">How far its rotation is off; null where it doesn't turn with the skin.</param>
internal readonly record struct TruthError(string Joint, string Region, double Error, double? AcrossRow, bool IsHeld, double? Degrees);
