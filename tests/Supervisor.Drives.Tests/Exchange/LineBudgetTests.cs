using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Exchange;

/// <summary>What the budget of a line counts is what the exchange sends: the same frames, on a line with the same times.</summary>
public sealed class LineBudgetTests
{
    public static TheoryData<int, int, int, int> Lines => new()
    {
        { 9600, (int)ParityKind.Even, 1, (int)GapKind.Standard },
        { 19200, (int)ParityKind.None, 2, (int)GapKind.Standard },
        { 115200, (int)ParityKind.None, 1, (int)GapKind.Standard },
        { 250000, (int)ParityKind.Odd, 1, (int)GapKind.Proportional },
        { 1000000, (int)ParityKind.None, 1, (int)GapKind.Fixed },
    };

    [Theory]
    [MemberData(nameof(Lines))]
    public void Of_EveryKindOfDrive_IsTheTimeOfItsFrames(int baud, int parity, int stopBits, int gap)
    {
        var port = new PortDefinition(
            "line", "/dev/null", baud, (ParityKind)parity, stopBits, TimeSpan.FromSeconds(1), new GapDefinition((GapKind)gap, TimeSpan.FromMicroseconds(300)), TimeSpan.FromMilliseconds(20), 2);
        var line = new LineSettings(baud, (LineParity)parity, stopBits, (GapRule)gap, TimeSpan.FromMicroseconds(300));
        foreach (var drive in Drives())
        {
            var (usual, full, frames) = Frames(new ExchangePlan(drive));
            var axis = LineBudget.Of(new MachineDefinition("One", [port], [Axis(drive)], [], []))[0].Axes[0];

            Assert.Equal(usual.Sum(frame => frame.Length) * line.BitsPerCharacter, axis.Bits);
            Near(usual.Sum(frame => line.CharacterTime(frame.Length).TotalMilliseconds) + ((usual.Count / 2) * (line.FrameGap + drive.Wire.Turnaround).TotalMilliseconds), axis.Exchange, drive);
            Near(full.Sum(frame => line.CharacterTime(frame.Length).TotalMilliseconds) + ((full.Count / 2) * (line.FrameGap + drive.Wire.Turnaround).TotalMilliseconds), axis.Commanded, drive);

            // Alone on its line: its own request without an answer, then the stop.
            var unanswered = line.CharacterTime(frames.Longest) + port.ResponseTimeout + drive.Wire.Turnaround + line.FrameGap;
            Near((unanswered + line.CharacterTime(frames.Stop)).TotalMilliseconds, axis.ToStopFrame, drive);
        }
    }

    private static IEnumerable<DriveDefinition> Drives()
    {
        yield return Definitions.Words();
        yield return Definitions.Words() with { Wire = Definitions.Words().Wire with { HasReadWrite = false, Turnaround = TimeSpan.FromMilliseconds(3) } };
        yield return Definitions.Words() with { Wire = Definitions.Words().Wire with { HasReadWrite = false, WriteFunction = 6, MaximumWrite = 1, Split = WordSplit.HighThenLow } };
        yield return Definitions.Words() with { Wire = Definitions.Words().Wire with { MaximumRead = 4, MaximumWrite = 3 } };
        yield return Definitions.Bits();
    }

    /// <summary>Requests and replies in turn: the feedback alone, and with every command block written.</summary>
    private static (List<byte[]> Usual, List<byte[]> Full, (int Longest, int Stop) Lengths) Frames(ExchangePlan plan)
    {
        var (usual, full) = (new List<byte[]>(), new List<byte[]>());
        var transaction = new Transaction();
        var image = new CommandImage(plan, 0);
        foreach (var block in plan.FeedbackBlocks)
        {
            transaction.Read(1, block.ReadFunction, block.Start, block.Count);
            Add(usual, transaction, 5 + (2 * block.Count));
        }

        if (plan.WritesInOneReadWrite)
        {
            image.WriteAndRead(transaction, 1);
            Add(full, transaction, 5 + (2 * plan.FeedbackRegisters));
        }
        else
        {
            full.AddRange(usual);
            for (var block = 0; block < plan.CommandBlocks.Length; block++)
            {
                image.Write(transaction, 1, block);
                Add(full, transaction, 8);
            }
        }

        image.WriteControl(transaction, 1);
        return (usual, full, (full.Where((_, i) => i % 2 == 0).Max(frame => frame.Length), transaction.RequestFrame.Length));
    }

    private static void Add(List<byte[]> frames, Transaction transaction, int replyLength)
    {
        frames.Add(transaction.RequestFrame.ToArray());
        frames.Add(new byte[replyLength]);
    }

    private static AxisDefinition Axis(DriveDefinition drive) => new(
        "slide", 0, 1, drive, "mm", 1000, false, null, new LimitsDefinition(0, 500, 200, 1000, 1000, null),
        new InPositionDefinition(0.1, TimeSpan.FromMilliseconds(20)), null, null, null, ReferenceKind.Absolute, false, null, null, TimeSpan.FromSeconds(5), []);

    private static void Near(double ms, TimeSpan time, DriveDefinition drive) =>
        Assert.True(Math.Abs(ms - time.TotalMilliseconds) < 0.01, $"{drive.Name} {drive.Wire}: {time.TotalMilliseconds} ms, the frames take {ms} ms");
}
