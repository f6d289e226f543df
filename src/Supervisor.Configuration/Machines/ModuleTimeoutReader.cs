using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads what a module does with its outputs when nobody speaks to it.</summary>
/// <remarks>
/// Left out: a unit of 1 ms, outputs off, fed by any frame, written by function 6, nothing else to set. The silence is at least three readings
/// and 50 ms, so that neither a lost frame nor a pause of the program makes the outputs fall.
/// </remarks>
internal sealed class ModuleTimeoutReader(ObjectReader module, FileErrors errors)
{
    private const string Member = "communicationTimeout";
    private const double LongestMs = 600_000;
    private const double PauseMs = 50;
    private const int LeastPolls = 3;
    private const int MostSettings = 32;
    private const int WriteSingle = 6;
    private const int WriteMultiple = 16;

    // A decimal number and a binary step seldom divide without a rest.
    private const double StepTolerance = 1e-6;

    private static readonly NumberRange Registers = new(0, 65535, "(the address on the wire, from 0)");

    private static readonly Choices<ModuleReaction> Reactions = new(("off", ModuleReaction.Off), ("hold", ModuleReaction.Hold));

    private static readonly Choices<TimeoutFeed> Feeds = new(("anyFrame", TimeoutFeed.AnyFrame), ("read", TimeoutFeed.Read), ("write", TimeoutFeed.Write));

    public ModuleTimeoutDefinition? Read(double pollMs)
    {
        if (module.Object(Member, MachineShapes.ModuleTimeout) is not { } timeout)
        {
            return null;
        }

        if (module.Find("outputs") is null)
        {
            module.Refuse(Member, "says what becomes of outputs, but the module has none; take it out or add outputs");
        }

        var writes = new List<ModuleSetting>();
        ReadSettings(timeout, "settings", writes);
        var register = timeout.Integer("register", Registers, "where the module keeps the time");
        var unitMs = timeout.Number("unitMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), 1);
        var timeoutMs = timeout.Number("timeoutMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), "silence that is too long");
        var time = new ModuleSetting((ushort)(register ?? 0), Count(timeout, timeoutMs, unitMs), ReadBack: true);
        writes.Add(time);
        ReadSettings(timeout, "start", writes);
        CheckLength(timeout, timeoutMs, pollMs);
        return new ModuleTimeoutDefinition(
            Milliseconds.ToTime(timeoutMs),
            timeout.Choice("reaction", Reactions, ModuleReaction.Off) ?? default,
            timeout.Choice("fedBy", Feeds, TimeoutFeed.AnyFrame) ?? default,
            ReadWriteFunction(timeout),
            time,
            writes);
    }

    private static ushort Count(ObjectReader timeout, double timeoutMs, double unitMs)
    {
        var count = timeoutMs / unitMs;
        if (Math.Abs(count - Math.Round(count)) > StepTolerance * Math.Max(1, count))
        {
            timeout.Refuse("timeoutMs", $"{Show.Number(timeoutMs)} ms is no multiple of unitMs {Show.Number(unitMs)} ms: the module can't hold it");
        }
        else if (count > ushort.MaxValue)
        {
            timeout.Refuse("timeoutMs", $"{Show.Number(timeoutMs)} ms is {Show.Number(count)} times unitMs {Show.Number(unitMs)} ms: a register holds at most {ushort.MaxValue}");
        }

        return count is >= 0 and <= ushort.MaxValue ? (ushort)Math.Round(count) : (ushort)0;
    }

    private static void CheckLength(ObjectReader timeout, double timeoutMs, double pollMs)
    {
        var leastMs = (LeastPolls * pollMs) + PauseMs;
        if (timeoutMs < leastMs)
        {
            timeout.Refuse(
                "timeoutMs",
                $"{Show.Number(timeoutMs)} ms is too short: at least {LeastPolls} readings, one every {Show.Number(pollMs)} ms, and {PauseMs} ms, {Show.Number(leastMs)} ms");
        }
    }

    private static byte ReadWriteFunction(ObjectReader timeout)
    {
        var function = timeout.Integer("function", new NumberRange(0, 255, ""), fallback: WriteSingle);
        if (function is not (null or WriteSingle or WriteMultiple))
        {
            timeout.Refuse("function", $"{function} writes no holding register; 6 (one register) or 16 is expected");
        }

        return (byte)(function ?? WriteSingle);
    }

    private void ReadSettings(ObjectReader timeout, string member, List<ModuleSetting> into)
    {
        var items = timeout.Items(member);
        if (items.Count > MostSettings)
        {
            errors.Add(items[MostSettings], $"is number {MostSettings + 1} of {items.Count}; at most {MostSettings} are allowed");
        }

        foreach (var node in items)
        {
            if (ObjectReader.Open(node, MachineShapes.ModuleSetting, errors) is { } setting)
            {
                var register = setting.Integer("register", Registers, "the holding register");
                var value = setting.Integer("value", new NumberRange(0, ushort.MaxValue, ""), "what it must hold");
                into.Add(new ModuleSetting((ushort)(register ?? 0), (ushort)(value ?? 0), setting.Flag("readBack", fallback: true)));
            }
        }
    }
}
