using Spectre.Console;
using Spectre.Console.Rendering;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs;

/// <summary>The machine as a table that is drawn over itself, for a person at a terminal.</summary>
internal static class StatusView
{
    public static IRenderable Compose(MachineStatus status)
    {
        var lines = new List<IRenderable> { Line(StatusText.Heading(status)), Axes(status) };
        lines.AddRange(status.Interlocks.Select(interlock => Line(StatusText.Line(interlock))));
        lines.AddRange(status.Zones.Select(zone => Line(StatusText.Line(zone))));
        lines.AddRange(StatusText.Outputs(status).Select(Line));
        lines.AddRange(status.Ports.Select(port => Line(StatusText.Line(port))));
        lines.AddRange(((string?[])[StatusText.Line(status.Alarms), StatusText.Line(status.History)]).OfType<string>().Select(Line));

        return new Rows(lines);
    }

    /// <summary>A line of plain text: nothing in it is markup.</summary>
    public static IRenderable Line(string text) => new Spectre.Console.Text(text);

    private static Table Axes(MachineStatus status)
    {
        var table = new Table { Border = TableBorder.Simple, ShowHeaders = true };
        table.AddColumns(
            new TableColumn("axis"),
            new TableColumn("state"),
            new TableColumn("position").RightAligned(),
            new TableColumn("velocity").RightAligned(),
            new TableColumn("torque %").RightAligned(),
            new TableColumn("zero"),
            new TableColumn("remark"));
        foreach (var axis in status.Axes)
        {
            table.AddRow(
                Line(axis.Name),
                Line(Text.Of(axis.State)),
                Line($"{axis.Position:0.00} {axis.Unit}"),
                Line($"{axis.Velocity:0.0} {axis.Unit}/s"),
                Line($"{axis.Torque:0.0}"),
                Line(axis.Referenced ? "known" : "not known"),
                Line(Text.Remark(axis)));
        }

        return table;
    }
}
