using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the power-enable output and the alive output.</summary>
internal sealed class PowerEnableReader(LoadedFile file, OutputPlaceReader places, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    private const double LongestMs = 10_000;

    // What contactors and a relay before them take, with a margin (common practice, no source).
    private const double DefaultMs = 250;
    private const int LeastCycles = 4;
    private const double DefaultPeriodMs = 500;
    private const double ShortestPeriodMs = 100;

    public PowerEnableDefinition? ReadPower(ObjectReader machine)
    {
        if (machine.Object("powerEnable", MachineShapes.PowerEnable) is not { } power)
        {
            return null;
        }

        var output = places.Read(power, "the output that lets the contactor close");
        var feedback = new InputReader(file, axes, modules).Read(power.Require("feedback", "the contactor's mirror contact, closed while the contactor is open"));
        var axisList = new AxisListReader(file.Errors, axes);
        var behind = power.Find("axes") is { } list ? axisList.Read(list, "a contactor feeds at least one axis") : axisList.Every;
        var leastMs = LeastCycles * Math.Max(CycleMs(output?.Axis, output?.Module), CycleMs(feedback?.Axis, feedback?.Module));
        if (output is null || feedback is null)
        {
            return null;
        }

        return new PowerEnableDefinition(output, feedback, Within(power, "onWithinMs", leastMs), Within(power, "offWithinMs", leastMs), behind);
    }

    public AliveDefinition? ReadAlive(ObjectReader machine)
    {
        if (machine.Object("alive", MachineShapes.Alive) is not { } alive)
        {
            return null;
        }

        var output = places.Read(alive, "the output that toggles");
        var leastMs = Math.Max(ShortestPeriodMs, 2 * LeastCycles * SlowestCycleMs());
        var periodMs = alive.Number("periodMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), Math.Max(DefaultPeriodMs, leastMs));
        if (periodMs < leastMs)
        {
            alive.Refuse("periodMs", $"{Show.Number(periodMs)} ms is too short: between two edges every port must have stepped and the output been confirmed; at least {Show.Number(leastMs)} ms here");
        }

        return output is null ? null : new AliveDefinition(output, Milliseconds.ToTime(periodMs));
    }

    private static TimeSpan Within(ObjectReader power, string member, double leastMs)
    {
        var ms = power.Number(member, NumberRange.Above0(Milliseconds.Unit, LongestMs), Math.Max(DefaultMs, leastMs));
        if (ms < leastMs)
        {
            power.Refuse(member, $"{Show.Number(ms)} ms is too short: output and feedback take up to {LeastCycles} cycles of their line, {Show.Number(leastMs)} ms");
        }

        return Milliseconds.ToTime(ms);
    }

    /// <summary>Time in which a place on a line is written or read once; 0 for one that is on none.</summary>
    private double CycleMs(int? axis, ModuleReference? module)
    {
        if (module is not null)
        {
            return modules[module.Module].Definition?.Poll.TotalMilliseconds ?? 0;
        }

        return axis is >= 0 and var index && axes[index].Definition?.Port is >= 0 and var port && double.IsFinite(ports[port].CycleMs) ? ports[port].CycleMs : 0;
    }

    private double SlowestCycleMs() => ports.Select(port => port.CycleMs).Where(double.IsFinite).DefaultIfEmpty(0).Max();
}
