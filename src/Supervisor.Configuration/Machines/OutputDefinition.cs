namespace Supervisor.Configuration.Machines;

/// <summary>A digital output by name, with what becomes of it when what it serves does not run. Not a safety function.</summary>
/// <param name="Name">Name as the machine's people call it.</param>
/// <param name="Place">Where it is.</param>
/// <param name="Axes">Indices of the axes whose stop, disabling and fault it follows; may be empty.</param>
/// <param name="AtStop">While one of them is stopped.</param>
/// <param name="AtDisable">While one of them is disabled.</param>
/// <param name="AtFault">While one of them is faulted.</param>
/// <param name="AtStart">From the start of the daemon. Hold: it is read back before anything is written.</param>
/// <param name="AtLoss">What it must do when the daemon is lost. The hardware does it, or not: <c>check</c> says what is promised.</param>
public sealed record OutputDefinition(
    string Name,
    OutputReference Place,
    IReadOnlyList<int> Axes,
    OutputState AtStop,
    OutputState AtDisable,
    OutputState AtFault,
    OutputState AtStart,
    OutputState AtLoss);

/// <summary>Where a digital output is.</summary>
/// <param name="Text">As the file names it.</param>
/// <param name="Source">What kind of place it is.</param>
/// <param name="Axis">Index of the axis whose drive carries it; -1 for other sources.</param>
/// <param name="Output">Index of the output in the drive definition; -1 for other sources.</param>
public sealed record OutputReference(string Text, OutputSource Source, int Axis, int Output)
{
    /// <summary>The line of a GPIO source; null for other sources.</summary>
    public GpioReference? Gpio { get; init; }

    /// <summary>A GPIO line's low level is on; every level that is wanted or read is told as on and off all the same.</summary>
    public bool ActiveLow { get; init; }

    /// <summary>The bit of a module source; null for other sources.</summary>
    public ModuleReference? Module { get; init; }
}

/// <summary>Kind of an output's place.</summary>
public enum OutputSource
{
    Drive = 0,
    Gpio = 1,
    Module = 2,
}

/// <summary>What an output does in a situation.</summary>
public enum OutputState
{
    /// <summary>The situation leaves it as it is.</summary>
    Hold = 0,
    Off = 1,
    On = 2,
}

/// <summary>
/// The output that lets a contactor close, and the contactor's mirror contact (normally closed, IEC 60947-4-1 annex F), which proves what it did.
/// A second way to take the drives' supply away, not a safety function: that is wired.
/// </summary>
/// <param name="Output">The output.</param>
/// <param name="Feedback">The mirror contact: 1 while the contactor is open.</param>
/// <param name="OnWithin">Time from switching on until the mirror contact must be open.</param>
/// <param name="OffWithin">Time from switching off until it must be closed.</param>
/// <param name="Axes">Indices of the axes behind it.</param>
public sealed record PowerEnableDefinition(OutputReference Output, InputReference Feedback, TimeSpan OnWithin, TimeSpan OffWithin, IReadOnlyList<int> Axes);

/// <summary>The output that toggles only while everything that supervises does so, for an outside relay that watches it. Not a safety function.</summary>
/// <param name="Output">The output.</param>
/// <param name="Period">Time of a whole period: on and off.</param>
public sealed record AliveDefinition(OutputReference Output, TimeSpan Period);
