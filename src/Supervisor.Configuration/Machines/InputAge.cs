using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads from what age on an input's last value counts as silence.</summary>
/// <remarks>Left out: five cycles of the slowest port that carries one of the inputs, at least 100 ms; as a module says where that is longer.</remarks>
internal sealed class InputAge(IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    /// <summary>Longest age.</summary>
    public const double LongestMs = 60_000;

    private const double LeastDefaultMs = 100;
    private const int DefaultCycles = 5;
    private const int LeastCycles = 2;

    /// <summary>Reads <c>staleMs</c>.</summary>
    public TimeSpan Read(ObjectReader owner, IReadOnlyList<InputReference> inputs)
    {
        var cycleMs = SlowestCycleMs(inputs);
        var staleMs = owner.Number(
            "staleMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), Math.Max(DefaultCycles * cycleMs, Math.Max(LeastDefaultMs, LongestModuleStaleMs(inputs))));
        if (staleMs < LeastCycles * cycleMs)
        {
            owner.Refuse(
                "staleMs",
                $"{Show.Number(staleMs)} ms is too short: the inputs are read every {Show.Number(cycleMs)} ms; at least {LeastCycles} cycles, {Show.Number(LeastCycles * cycleMs)} ms");
        }

        return Milliseconds.ToTime(staleMs);
    }

    /// <summary>Time from one reading to the next of the input that is read most seldom; 0 where none is read on a line.</summary>
    public double SlowestCycleMs(IReadOnlyList<InputReference> inputs) =>
        inputs.Where(input => input.Axis >= 0)
            .Select(input => axes[input.Axis].Definition?.Port ?? -1)
            .Where(port => port >= 0)
            .Select(port => ports[port].CycleMs)
            .Concat(ModulesOf(inputs).Select(module => module.Poll.TotalMilliseconds))
            .Where(double.IsFinite)
            .DefaultIfEmpty(0)
            .Max();

    private double LongestModuleStaleMs(IReadOnlyList<InputReference> inputs) =>
        ModulesOf(inputs).Select(module => module.StaleAfter.TotalMilliseconds).DefaultIfEmpty(0).Max();

    private IEnumerable<ModuleDefinition> ModulesOf(IReadOnlyList<InputReference> inputs) =>
        inputs.Select(input => input.Module is { } bit ? modules[bit.Module].Definition : null).OfType<ModuleDefinition>();
}
