using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.Traces;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>Samples as people and spreadsheets get them.</summary>
public sealed class TraceTextTests
{
    private static readonly TraceBegin Begin = new()
    {
        Time = Google.Protobuf.WellKnownTypes.Timestamp.FromDateTime(new DateTime(2031, 5, 6, 7, 8, 9, DateTimeKind.Utc)), MonotonicUs = 5_000_000,
        Axes = { new TraceAxis { Name = "gantry", Unit = "mm", CycleMs = 40, Inputs = { "home", "end" } } },
    };

    [Fact]
    public void Take_SecondIsOver_PrintsLeastMeanAndGreatest()
    {
        var text = new TraceText(Begin.Axes, ["position", "torque", "inputs"]);
        Assert.Empty(text.Take(Sample(5_000_000, 10, inputs: 1), 5_000_000));
        Assert.Empty(text.Take(Sample(5_500_000, 20, inputs: 3), 5_000_000));
        text.Take(new TraceGap { Axis = 0, FromUs = 5_500_000, ToUs = 5_900_000, Cycles = 9, Cause = GapCause.NotExchanged });
        Assert.Empty(text.Take(Sample(5_900_000, 60, inputs: 1), 5_000_000));
        var lines = text.Take(Sample(6_000_000, 60, inputs: 1), 5_000_000);

        Assert.Equal(2, lines.Count);
        var words = lines[1].Split("  ", StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        Assert.Equal(["0 s", "gantry", "Moving", "10, 30, 60 mm", "5 %", "home ~end", "(9 cycles missing: the port did not come to the axis)"], words);
    }

    [Fact]
    public void Rest_GapAtTheEnd_IsStillTold()
    {
        var text = new TraceText(Begin.Axes, ["position"]);
        text.Take(Sample(5_000_000, 10, 0), 5_000_000);
        text.Take(new TraceGap { Axis = 0, FromUs = 5_100_000, ToUs = 9_000_000, Cycles = 97, Cause = GapCause.Offline });

        Assert.Contains("97 cycles without a sample, the drive or its port was lost", text.Rest(5_000_000)[^1], StringComparison.Ordinal);
    }

    [Fact]
    public void Line_OfATable_HasTheColumnsOfItsHeading()
    {
        var csv = new TraceCsv(Begin, ["position", "following", "reply", "inputs", "result"]);

        Assert.Equal("time,monotonic_us,axis,unit,cycle,position,following,reply_ms,inputs,result", csv.Heading());
        Assert.Equal("2031-05-06T07:08:10.500000Z,6500000,gantry,mm,7,10.25,,0,home end,Good", csv.Line(Sample(6_500_000, 10.25, 3)));
    }

    [Fact]
    public void Of_GapInALine_BreaksIt()
    {
        TraceSample[] samples = [Sample(5_000_000, 1, 0), Sample(5_040_000, 2, 0), Sample(5_200_000, 3, 0)];
        TraceGap[] gaps = [new TraceGap { Axis = 0, FromUs = 5_040_000, ToUs = 5_200_000, Cycles = 3 }];
        var panel = Assert.Single(TracePanels.Of(Begin.Axes, samples, gaps, ["position"], 5_000_000));

        Assert.Equal(("position", "mm"), (panel.Title, panel.Unit));
        Assert.Equal([1, 2, double.NaN, 3], panel.Series[0].Points.Select(point => point.Value));
    }

    private static TraceSample Sample(long atUs, double position, uint inputs) => new()
    {
        AtUs = atUs, Position = position, Torque = 5, Inputs = inputs, Cycle = 7, State = AxisState.Moving, Result = ExchangeResult.Good, Online = true,
    };
}
