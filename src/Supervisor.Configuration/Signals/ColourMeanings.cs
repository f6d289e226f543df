using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Signals;

/// <summary>
/// What colours may tell of. By IEC 60073 red is emergency or hazard, yellow abnormal, blue a mandatory action, green normal, white neutral (from memory,
/// and as secondary sources tell it; the standard's text was not at hand). Green beside something that is wrong, and red for what is normal, contradict
/// that and are refused; what is only unusual is warned of.
/// </summary>
public static class ColourMeanings
{
    private const SignalStates Hazards = SignalStates.EmergencyStop | SignalStates.HighAlarm | SignalStates.NewHighAlarm;

    private const SignalStates Abnormal = SignalStates.InterlockOpen | SignalStates.AxisFaulted | SignalStates.MediumAlarm | SignalStates.NewMediumAlarm
        | SignalStates.LowAlarm | SignalStates.NewLowAlarm;

    private const SignalStates Mandatory = SignalStates.PersonNeeded;

    private const SignalStates Normal = SignalStates.Ready | SignalStates.Moving | SignalStates.Production;

    private const SignalStates Neutral = SignalStates.Maintenance | SignalStates.Manual | SignalStates.Always;

    /// <summary>What a colour says by the standard, as a part of a sentence.</summary>
    public static string MeaningOf(SignalColour colour) => colour switch
    {
        SignalColour.Red => "an emergency or a hazard",
        SignalColour.Yellow => "an abnormal condition",
        SignalColour.Blue => "a mandatory action of a person",
        SignalColour.Green => "a normal condition",
        _ => "nothing by itself",
    };

    /// <summary>States that contradict a colour.</summary>
    public static SignalStates ContradictedBy(SignalColour colour) => colour switch
    {
        SignalColour.Red => Normal | Neutral | Mandatory | SignalStates.LowAlarm | SignalStates.NewLowAlarm,
        SignalColour.Yellow => SignalStates.None,
        SignalColour.Blue => Hazards,
        SignalColour.Green => Hazards | Abnormal | Mandatory,
        _ => SignalStates.None,
    };

    /// <summary>States for which another colour is meant, without a contradiction.</summary>
    public static SignalStates UnusualWith(SignalColour colour) => colour switch
    {
        SignalColour.Red => Abnormal & ~ContradictedBy(SignalColour.Red),
        SignalColour.Yellow => Hazards | Mandatory | Normal | SignalStates.Always,
        SignalColour.Blue => Abnormal | Normal | SignalStates.Always,
        SignalColour.White => Hazards,
        _ => SignalStates.None,
    };

    /// <summary>Warnings, one line each, with the member they are about in front.</summary>
    public static IReadOnlyList<string> Unusual(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        var warnings = new List<string>();
        for (var i = 0; i < machine.Signals.Lights.Count; i++)
        {
            var light = machine.Signals.Lights[i];
            var unusual = (light.Steady | light.Flashing) & UnusualWith(light.Colour);
            if (unusual != SignalStates.None)
            {
                warnings.Add(
                    $"signals.lights[{i}].colour: {Show.Quoted(light.Name)} is {Word(light.Colour)}, which by IEC 60073 tells of {MeaningOf(light.Colour)}, but is lit for {Show.List(SignalWords.Of(unusual))}; see what whoever looks at it takes it for");
            }
        }

        return warnings;
    }

    internal static string Word(SignalColour colour) => SignalWords.Colours.WordOf(colour);
}
