using Supervisor.Records.Faults;

namespace Supervisor.Records.Stops;

/// <summary>
/// One stop of one axis as its feedback showed it, from the moment its stepper saw the trip. What lies before (contact, wiring, the line of
/// the input) is not in it: a validated measurement of the whole chain decides on safety distances, not this figure.
/// </summary>
/// <param name="Axis">Index of the axis in the machine file.</param>
/// <param name="Category">Stop category of IEC 60204-1, 9.2.2: 0, 1 or 2.</param>
/// <param name="Causes">Bits of the causes that tripped it; 0 when a person or a program asked for it.</param>
/// <param name="TrippedAt">Monotonic time at which the stepper saw it.</param>
/// <param name="Velocity">Velocity then, unit/s.</param>
/// <param name="Distance">Farthest from where it was then, unit.</param>
/// <param name="RestAfter">Time to the first of the feedbacks that show rest; <see cref="TimeSpan.MaxValue"/> when it was not seen.</param>
/// <param name="OffAfter">Time to the first feedback that shows torque off; <see cref="TimeSpan.MaxValue"/> when it was not seen, as in category 2.</param>
public readonly record struct MeasuredStop(
    short Axis, int Category, ulong Causes, TimeSpan TrippedAt, double Velocity, double Distance, TimeSpan RestAfter, TimeSpan OffAfter)
{
    /// <summary>The fault that tripped it; <see cref="FaultCode.None"/> when none did.</summary>
    public FaultCode Fault { get; init; }

    /// <summary>True when rest was seen, and for category 0 and 1 torque off.</summary>
    public bool IsComplete => RestAfter != TimeSpan.MaxValue && (Category == 2 || OffAfter != TimeSpan.MaxValue);
}
