using Supervisor.Configuration.Languages;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Signals;

/// <summary>Reads signal lights and horn.</summary>
internal sealed class SignalsReader(
    FileErrors errors, LanguagesReader languages, OutputPlaceReader places, InputReader inputs, InputAge age, LossChecks losses, IReadOnlyList<ModuleDraft> modules)
{
    private const int MostLights = 32;

    private static readonly Choices<FaultPriority> Priorities = new(("low", FaultPriority.Low), ("medium", FaultPriority.Medium), ("high", FaultPriority.High));

    private readonly UsedOnce<string> _names = new(errors);

    /// <summary>The signals; none where the file has no such section.</summary>
    public SignalsDefinition Read(ObjectReader machine)
    {
        if (machine.Object("signals", SignalShapes.Signals) is not { } signals)
        {
            return SignalsDefinition.None;
        }

        var lights = new List<LightDefinition>();
        var flashes = new FlashChecks(modules);
        foreach (var node in signals.Items("lights"))
        {
            if (ObjectReader.Open(node, SignalShapes.Light, errors) is { } light && ReadLight(light, flashes) is { } definition)
            {
                lights.Add(definition);
            }
        }

        if (signals.Find("lights") is { Kind: NodeKind.Array } list && list.Items.Count > MostLights)
        {
            errors.Add(list.Items[MostLights], $"is number {MostLights + 1} of {list.Items.Count}; at most {MostLights} lights are allowed");
        }

        var test = signals.Number("lampTestMs", new NumberRange(1000, 60_000, Milliseconds.Unit), SignalsDefinition.None.LampTest.TotalMilliseconds);
        return new SignalsDefinition(lights, ReadHorn(signals), Milliseconds.ToTime(test));
    }

    private LightDefinition? ReadLight(ObjectReader light, FlashChecks flashes)
    {
        var name = Names.Read(light.Require("name", "name of the light"), "", errors);
        if (name is not null)
        {
            _names.Note(name, light.Find("name")!, line => $"light {Show.Quoted(name)} appears twice; first in line {line}");
        }

        var place = places.Read(light, "where it is");
        var colour = light.Choice("colour", SignalWords.Colours, "\"red\", \"yellow\", \"blue\", \"green\" or \"white\"");
        var plain = light.Text("text", "what it tells while it is lit: nobody depends on seeing colours") ?? "";
        var texts = languages.ReadTexts(light, plain, node => Values.Text(node, errors));
        var steady = ReadStates(light, "steadyWhile");
        var flashing = ReadStates(light, "flashingWhile");
        if (light.Find("steadyWhile") is null && light.Find("flashingWhile") is null)
        {
            light.Require("steadyWhile", "the states that light it, or flashingWhile");
        }

        CheckColour(light, colour, "steadyWhile", steady);
        CheckColour(light, colour, "flashingWhile", flashing);
        var flashHz = flashes.Read(light, place, light.Find("flashingWhile") is not null);
        var atLoss = losses.Read(light, place);
        return place is null ? null : new LightDefinition(name ?? "", place, colour ?? default, texts, steady, flashing, flashHz, atLoss ?? default);
    }

    private SignalStates ReadStates(ObjectReader light, string member)
    {
        var states = SignalStates.None;
        foreach (var node in light.Items(member))
        {
            if (Values.Choice(node, SignalWords.States, errors) is { } state)
            {
                if ((states & state) != SignalStates.None)
                {
                    errors.Add(node, $"{Show.Quoted(node.Text)} is listed twice");
                }

                states |= state;
            }
        }

        if (light.Find(member) is { Kind: NodeKind.Array, Items.Count: 0 })
        {
            light.Refuse(member, $"is empty; name states: {Show.List(SignalWords.States.Words)}");
        }

        return states;
    }

    private void CheckColour(ObjectReader light, SignalColour? colour, string member, SignalStates states)
    {
        if (colour is not { } told || light.Find(member) is not { Kind: NodeKind.Array } list)
        {
            return;
        }

        var wrong = states & ColourMeanings.ContradictedBy(told);
        foreach (var node in list.Items)
        {
            if (node.Kind == NodeKind.Text && SignalWords.States.Find(node.Text) is { } state && (state & wrong) != SignalStates.None)
            {
                errors.Add(node, $"{Show.Quoted(node.Text)} contradicts {ColourMeanings.Word(told)}, which by IEC 60073 tells of {ColourMeanings.MeaningOf(told)}; give it another light");
            }
        }
    }

    private HornDefinition? ReadHorn(ObjectReader signals)
    {
        if (signals.Object("horn", SignalShapes.Horn) is not { } horn)
        {
            return null;
        }

        var place = places.Read(horn, "where the horn is");
        var from = horn.Choice("soundsFrom", Priorities, "\"low\", \"medium\" or \"high\": the least priority of an alarm for which it sounds");
        var longest = horn.Number("longestMs", new NumberRange(1000, 600_000, Milliseconds.Unit), "how long it sounds for one alarm at most");
        var silence = inputs.Read(horn.Find("silenceInput"));
        var stale = age.Read(horn, silence is null ? [] : [silence]);
        if (horn.Find("staleMs") is not null && horn.Find("silenceInput") is null)
        {
            horn.Refuse("staleMs", "is the age of silenceInput, which is left out");
        }

        var atLoss = losses.Read(horn, place);
        if (atLoss == OutputState.On)
        {
            horn.Refuse("atLoss", "\"on\" would sound until somebody takes the supply; give \"off\", or \"hold\" where its place can't do otherwise");
        }

        return place is null ? null : new HornDefinition(place, from ?? FaultPriority.Medium, Milliseconds.ToTime(longest), silence, stale, atLoss ?? default);
    }
}
