using Supervisor.Configuration.Languages;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Alarms;

/// <summary>Reads the builder's own alarms.</summary>
internal sealed class AlarmReader(FileErrors errors, LanguagesReader languages, InputReader inputs, InputAge age, IReadOnlyList<CounterDefinition> counters)
{
    /// <summary>Most own alarms of a machine.</summary>
    public const int Most = 500;

    /// <summary>Times that an input must last.</summary>
    public static readonly NumberRange DelayRange = new(0, 3_600_000, Milliseconds.Unit);

    private const int LongestText = 400;

    private static readonly Choices<FaultPriority> Priorities = new(("low", FaultPriority.Low), ("medium", FaultPriority.Medium), ("high", FaultPriority.High));
    private static readonly Choices<bool> Levels = new(("closed", true), ("open", false));
    private static readonly Choices<SilentInput> Silences = new(("keep", SilentInput.Keep), ("raise", SilentInput.Raise), ("clear", SilentInput.Clear));

    private readonly UsedOnce<int> _numbers = new(errors);
    private readonly UsedOnce<string> _names = new(errors);

    /// <summary>The alarm, as far as it could be read; null when its value is no object or it has no number.</summary>
    public OwnAlarmDefinition? Read(Node node)
    {
        if (ObjectReader.Open(node, AlarmShapes.Alarm, errors) is not { } alarm)
        {
            return null;
        }

        var range = new NumberRange(OwnAlarmDefinition.LeastNumber, OwnAlarmDefinition.GreatestNumber, "");
        var number = alarm.Integer("number", range, "its number, 1000 to 9999");
        if (number is { } told)
        {
            _numbers.Note(told, alarm.Find("number")!, line => $"alarm {told} appears twice; first in line {line}");
        }

        var priority = alarm.Choice("priority", Priorities, "\"low\", \"medium\" or \"high\": high is for what may hurt someone or drop a load");
        var plain = ReadPlain(alarm);
        if (alarm.Find("name") is { } at && plain.Name.Length > 0)
        {
            _names.Note(plain.Name, at, line => $"alarm {Show.Quoted(plain.Name)} appears twice; first in line {line}");
        }

        var texts = languages.ReadTexts(alarm, plain, ReadTexts);
        if (alarm.Find("input") is not null && alarm.Find("counter") is { } second)
        {
            errors.Add(second, "an alarm is raised by an input or by a counter; make two of it");
        }

        var definition = new OwnAlarmDefinition(number ?? 0, priority ?? FaultPriority.Low, texts)
        {
            Latched = alarm.Flag("latched", fallback: false),
            Input = ReadInput(alarm),
            Counter = ReadCounter(alarm),
        };
        return number is null ? null : definition;
    }

    private OwnAlarmTexts? ReadTexts(Node node) => ObjectReader.Open(node, AlarmShapes.Texts, errors) is { } texts ? ReadPlain(texts) : null;

    private OwnAlarmTexts ReadPlain(ObjectReader texts) => new(
        Names.Read(texts.Require("name", "a short name, such as \"seed hopper low\""), "", errors) ?? "",
        ReadSentence(texts, "cause", "what it comes from"),
        ReadSentence(texts, "remedy", "what to do"));

    private static string ReadSentence(ObjectReader texts, string member, string what)
    {
        var text = texts.Text(member, what) ?? "";
        if (text.Length > LongestText)
        {
            texts.Refuse(member, $"is {text.Length} characters long; at most {LongestText} are allowed");
        }

        return text;
    }

    private AlarmInput? ReadInput(ObjectReader alarm)
    {
        if (alarm.Object("input", AlarmShapes.Input) is not { } source)
        {
            return null;
        }

        var input = inputs.Read(source.Require("input", $"the input that raises it: {InputReader.Shapes}"));
        var level = source.Choice("raisedWhile", Levels, "\"open\" or \"closed\": the level that raises it");
        var silent = source.Choice("whenSilent", Silences, "\"keep\", \"raise\" or \"clear\": what it means when the input's source does not answer");
        var onDelayMs = source.Number("onDelayMs", DelayRange, fallback: 0);
        var offDelayMs = source.Number("offDelayMs", DelayRange, fallback: 0);
        var stale = age.Read(source, input is null ? [] : [input]);
        return input is null
            ? null
            : new AlarmInput(input, level ?? false, Milliseconds.ToTime(onDelayMs), Milliseconds.ToTime(offDelayMs), silent ?? default, stale);
    }

    private AlarmCounter? ReadCounter(ObjectReader alarm)
    {
        if (alarm.Object("counter", AlarmShapes.Counter) is not { } source)
        {
            return null;
        }

        var atLeast = source.Number("atLeast", new NumberRange(1, 1e9, ""), "the count from which it stands");
        if (Math.Floor(atLeast) != atLeast && double.IsFinite(atLeast))
        {
            source.Refuse("atLeast", $"{Show.Number(atLeast)} must be a whole number");
        }

        if (source.Text("name", "name of the counter") is not { } name)
        {
            return null;
        }

        for (var index = 0; index < counters.Count; index++)
        {
            if (counters[index].Name == name)
            {
                return double.IsNaN(atLeast) ? null : new AlarmCounter(index, (long)atLeast);
            }
        }

        var known = counters.Select(counter => counter.Name).ToArray();
        source.Refuse("name", $"no counter {Show.Quoted(name)}{(known.Length == 0 ? "; the file has none" : Nearest.Hint(name, known))}");
        return null;
    }
}
