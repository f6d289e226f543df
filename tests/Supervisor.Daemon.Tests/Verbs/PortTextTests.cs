using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Tests.Verbs;

public sealed class PortTextTests
{
    private static readonly CycleOverruns None = new();

    [Fact]
    public void Line_ClosedPort_SaysWhyAndWhatToDo()
    {
        var line = StatusText.Line(Port(open: false, problem: "/dev/line-a: busy: held by process 4711 (axis-supervisor serve); end that one first"));
        Assert.StartsWith("line-a: closed", line, StringComparison.Ordinal);
        Assert.EndsWith("; /dev/line-a: busy: held by process 4711 (axis-supervisor serve); end that one first", line, StringComparison.Ordinal);
    }

    [Fact]
    public void Line_PortWithFailedExchanges_TellsTheirShare()
    {
        var port = Port(open: true, problem: "");
        Assert.DoesNotContain("%", StatusText.Line(port), StringComparison.Ordinal);
        port.Errors = 17;
        port.ErrorPercent = 1.2;
        port.LastMinute = new ExchangeCounts { Exchanges = 900, Errors = 3 };
        port.LastHour = new ExchangeCounts { Exchanges = 54_000, Errors = 12 };
        Assert.Contains("17 errors (1.2 % of the last ones, 3 in the last minute, 12 in the last hour)", StatusText.Line(port), StringComparison.Ordinal);
    }

    [Fact]
    public void Outputs_ModuleWithFailedExchanges_TellsTheirShareAndWhatToDo()
    {
        var status = new MachineStatus();
        status.Modules.Add(new ModuleStatus { Name = "terminal", Online = true, ErrorPercent = 27.5, WhatToDo = "Mend its plug." });
        status.Modules.Add(new ModuleStatus { Name = "valves", Online = true });
        Assert.Equal(["terminal: answers, 27.5 % of its last exchanges failed; Mend its plug.", "valves: answers"], StatusText.Outputs(status));
    }

    private static PortStatus Port(bool open, string problem) => new()
    {
        Name = "line-a", Open = open, CycleMs = 40, Exchanges = 1000, Problem = problem, Overruns = None, OverrunsLastMinute = None, OverrunsLastHour = None,
        LastMinute = new ExchangeCounts(), LastHour = new ExchangeCounts(),
    };
}
