using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Verbs;

/// <summary>The budget of every line, as <c>check</c> prints it.</summary>
internal static class BudgetText
{
    public static void Print(MachineDefinition machine, TextWriter to)
    {
        foreach (var budget in LineBudget.Of(machine))
        {
            var port = machine.Ports[budget.Port];
            to.WriteLine($"  line {port.Name}: {(budget.Axes.Count > 0 ? $"cycle reached {Ms(budget.Reached)} of {Ms(port.Cycle)} asked, " : "")}{Text.Of(Math.Round(budget.Use * 100))} % in use"
                + (budget.Axes.Count > 0 ? $"; {Ms(budget.Commanded)} where every axis is commanded in one cycle" : ""));
            foreach (var axis in budget.Axes)
            {
                PrintAxis(machine.Axes[axis.Axis], axis, to);
            }

            foreach (var module in budget.Modules)
            {
                to.WriteLine($"    {module.Name}: {module.Bits} bits, {Ms(module.Exchange)} where its outputs are set too; read every {Ms(module.Poll)}, which takes {Ms(module.Read)}");
            }
        }

        if (machine.Axes.Count > 0)
        {
            to.WriteLine("  The stop frame is one term of a stopping time, computed and not measured: a validated measurement of the whole chain decides on safety distances.");
        }
    }

    public static IReadOnlyList<LineJson> ToJson(MachineDefinition machine) => [.. LineBudget.Of(machine).Select(budget => new LineJson(
        machine.Ports[budget.Port].Name,
        Number(budget.Reached),
        Number(budget.Commanded),
        Number(machine.Ports[budget.Port].Cycle),
        Math.Round(budget.Use, 4),
        [.. budget.Axes.Select(axis => new LineAxisJson(
            machine.Axes[axis.Axis].Name, axis.Bits, Number(axis.Exchange), Number(axis.Commanded), Number(axis.LegalSilence), Number(axis.OthersMute),
            Number(machine.Axes[axis.Axis].CommunicationTimeout), Number(axis.ToStopFrame), Math.Round(axis.StoppingDistance, 3)))])
    {
        Modules = [.. budget.Modules.Select(module => new LineModuleJson(module.Name, module.Bits, Number(module.Exchange), Number(module.Read), Number(module.Poll)))],
    })];

    private static void PrintAxis(AxisDefinition axis, AxisBudget budget, TextWriter to)
    {
        to.WriteLine(
            $"    {axis.Name}: {budget.Bits} bits, {Ms(budget.Exchange)} an exchange ({Ms(budget.Commanded)} with commands); "
            + $"unasked for at most {Ms(budget.LegalSilence)}, its time-out is {Ms(axis.CommunicationTimeout)}; "
            + $"stop frame at most {Ms(budget.ToStopFrame)} after a trip is seen, {Text.Of(Math.Round(budget.StoppingDistance, 2))} {axis.Unit} to rest from {Text.Of(axis.Limits.Velocity)} {axis.Unit}/s");
        if (budget.OthersMute + LineBudget.Pause > axis.CommunicationTimeout)
        {
            to.WriteLine($"      where every other unit of the line falls silent at once, it may be unasked for {Ms(budget.OthersMute)} and stop by itself");
        }
    }

    private static double Number(TimeSpan time) => Math.Round(time.TotalMilliseconds, 3);

    private static string Ms(TimeSpan time) => $"{Text.Of(Math.Round(time.TotalMilliseconds, 1))} ms";
}
