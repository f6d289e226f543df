using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Signals;

/// <summary>Signal lights and horn of a machine. Not a safety function: a light that is dark proves nothing.</summary>
/// <param name="Lights">In the file's order.</param>
/// <param name="Horn">Null where there is none.</param>
/// <param name="LampTest">How long a lamp test lasts.</param>
public sealed record SignalsDefinition(IReadOnlyList<LightDefinition> Lights, HornDefinition? Horn, TimeSpan LampTest)
{
    /// <summary>No lights and no horn.</summary>
    public static SignalsDefinition None { get; } = new([], null, TimeSpan.FromSeconds(5));
}

/// <summary>A signal light.</summary>
/// <param name="Name">Name as the machine's people call it.</param>
/// <param name="Output">Where it is.</param>
/// <param name="Colour">Its colour.</param>
/// <param name="Texts">What it tells while it is lit, by language, in the order of <see cref="MachineDefinition.Languages"/>: nobody depends on seeing colours.</param>
/// <param name="Steady">States of which any lights it.</param>
/// <param name="Flashing">States of which any makes it flash; that goes before steady.</param>
/// <param name="FlashHz">Flashes a second: 0.4 to 0.8, or 1.4 to 2.8.</param>
/// <param name="AtLoss">What it does when the daemon ends or is lost.</param>
public sealed record LightDefinition(
    string Name, OutputReference Output, SignalColour Colour, IReadOnlyList<string> Texts, SignalStates Steady, SignalStates Flashing, double FlashHz, OutputState AtLoss);

/// <summary>The horn: it sounds for a new alarm until that is acknowledged, the horn is silenced, or its time is over; and again at the next alarm.</summary>
/// <param name="Output">Where it is.</param>
/// <param name="From">Least priority of an alarm for which it sounds.</param>
/// <param name="Longest">How long it sounds for one alarm at most, 1 s to 10 min.</param>
/// <param name="SilenceInput">A button that silences it: 1 while pressed; null: by command only.</param>
/// <param name="SilenceStaleAfter">Age from which that button's last value counts as silence, which is no press.</param>
/// <param name="AtLoss">What it does when the daemon ends or is lost; never on.</param>
public sealed record HornDefinition(
    OutputReference Output, FaultPriority From, TimeSpan Longest, InputReference? SilenceInput, TimeSpan SilenceStaleAfter, OutputState AtLoss);
