using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;
using Supervisor.Drives.Tests.Support;

namespace Supervisor.Drives.Tests.Exchange;

/// <summary>
/// Random register maps: reads and writes are merged as far as the definition's limits go and no farther, no register is touched that was not declared,
/// and a value of 32 bits stays in one frame.
/// </summary>
public sealed class RandomRegisterMapTests
{
    private const int Maps = 500;
    private const int Space = 120;

    [Theory]
    [InlineData(81)]
    [InlineData(82)]
    public void Feedback_RandomMaps_IsReadInTheFewestFramesOfDeclaredRegistersOnly(int seed)
    {
        var random = new Random(seed);
        var frames = 0;
        for (var map = 0; map < Maps; map++)
        {
            var fields = Fields(random, canShare: true, withInputs: random.Next(2) == 0);
            var maximum = random.Next(2, 126);
            var drive = Drive(random, maximum, 123, 16) with { Feedback = [.. fields.OrderBy(_ => random.Next())] };
            var plan = new ExchangePlan(drive);

            frames += Check(plan.FeedbackBlocks, fields, drive.Wire, maximum, name => plan.Feedback(name).Offset, plan.FeedbackRegisters, isRead: true, $"seed {seed}, map {map}");
        }

        Assert.True(frames > 3 * Maps, "Hardly a map was cut.");
    }

    [Theory]
    [InlineData(83, 16)]
    [InlineData(84, 16)]
    public void Command_RandomMaps_IsWrittenInTheFewestFramesOfDeclaredRegistersOnly(int seed, byte function)
    {
        var random = new Random(seed);
        for (var map = 0; map < Maps; map++)
        {
            var fields = Fields(random, canShare: true, withInputs: false);
            var maximum = random.Next(2, 124);
            var drive = Drive(random, 125, maximum, function) with { Command = [.. fields.OrderBy(_ => random.Next())] };
            var plan = new ExchangePlan(drive);

            Check(plan.CommandBlocks, fields, drive.Wire, maximum, name => plan.Command(name).Offset, plan.CommandRegisters, isRead: false, $"seed {seed}, map {map}");
        }
    }

    [Fact]
    public void Command_RandomMapsByFunction6_IsEachRegisterOnceAndThePairsOfAValueTogether()
    {
        var random = new Random(85);
        for (var map = 0; map < Maps; map++)
        {
            var fields = Fields(random, canShare: false, withInputs: false);
            var split = (WordSplit)random.Next(2);
            var basis = Drive(random, 125, 1, 6);
            var plan = new ExchangePlan(basis with { Command = fields, Wire = basis.Wire with { Split = split } });

            Assert.All(plan.CommandBlocks, block => Assert.Equal(1, block.Count));
            Assert.Equal(Declared(fields, basis.Wire, isRead: false).Select(each => each.Address).Order(), plan.CommandBlocks.Select(block => (int)block.Start).Order());
            foreach (var field in fields.Where(field => field.Width == 2))
            {
                // Both words one behind the other, in the order the drive asks for.
                var low = Array.FindIndex(plan.CommandBlocks, block => block.Start == field.Address(basis.Wire));
                var high = Array.FindIndex(plan.CommandBlocks, block => block.Start == field.Address(basis.Wire) + 1);
                Assert.Equal((1, high, low), (Math.Abs(low - high), plan.PairOf(low), plan.PairOf(high)));
                var firstIsHigh = plan.Drive.Wire.WordOrder == WordOrder.HighFirst;
                Assert.Equal(split == WordSplit.HighThenLow, firstIsHigh == low < high);
            }
        }
    }

    private static int Check(
        RegisterBlock[] blocks, RegisterField[] fields, WireDefinition wire, int maximum, Func<string, int> offsetOf, int registers, bool isRead, string where)
    {
        var declared = Declared(fields, wire, isRead);
        var touched = blocks.SelectMany(block => Enumerable.Range(block.Start, block.Count).Select(address => (block.ReadFunction, Address: address))).ToList();
        Assert.True(touched.Count == touched.Distinct().Count() && declared.SetEquals(touched), $"{where}: other registers are touched than were declared.");
        Assert.True(blocks.All(block => block.Count >= 1 && block.Count <= maximum), $"{where}: a frame is beyond {maximum}.");
        Assert.Equal(blocks.Sum(block => block.Count), registers);
        foreach (var field in fields)
        {
            var offset = offsetOf(field.Name);
            var block = Assert.Single(blocks, each => offset >= each.Offset && offset < each.Offset + each.Count);
            Assert.True(offset + field.Width <= block.Offset + block.Count, $"{where}: {field.Name} is split.");
            Assert.True(block.Start + offset - block.Offset == field.Address(wire) && block.ReadFunction == (isRead ? field.ReadFunction(wire) : 0), $"{where}: {field.Name} is looked for elsewhere.");
        }

        Assert.True(blocks.Length == Fewest(fields, wire, maximum, isRead), $"{where}: {blocks.Length} frames, {Fewest(fields, wire, maximum, isRead)} would do.");
        return blocks.Length;
    }

    /// <summary>The fewest frames, by trying every length of the first frame of a run and the fewest for the rest.</summary>
    private static int Fewest(RegisterField[] fields, WireDefinition wire, int maximum, bool isRead)
    {
        var values = fields.Select(field => (Function: isRead ? field.ReadFunction(wire) : (byte)0, Address: field.Address(wire), field.Width))
            .GroupBy(each => (each.Function, each.Address)).Select(same => (same.Key.Function, same.Key.Address, Width: same.Max(each => each.Width)))
            .OrderBy(each => each.Function).ThenBy(each => each.Address).ToList();
        var fewest = new int[values.Count + 1];
        for (var first = values.Count - 1; first >= 0; first--)
        {
            fewest[first] = int.MaxValue;
            var width = 0;
            for (var last = first; last < values.Count; last++)
            {
                var isNext = last == first || (values[last].Function == values[first].Function && values[last].Address == values[last - 1].Address + values[last - 1].Width);
                width += values[last].Width;
                if (!isNext || width > maximum)
                {
                    break;
                }

                fewest[first] = Math.Min(fewest[first], 1 + fewest[last + 1]);
            }
        }

        return fewest[0];
    }

    private static HashSet<(byte, int Address)> Declared(RegisterField[] fields, WireDefinition wire, bool isRead) =>
        [.. fields.SelectMany(field => Enumerable.Range(field.Address(wire), field.Width).Select(address => (isRead ? field.ReadFunction(wire) : (byte)0, address)))];

    private static DriveDefinition Drive(Random random, int maximumRead, int maximumWrite, byte writeFunction)
    {
        var basis = Definitions.Words();
        return basis with
        {
            Wire = basis.Wire with
            {
                MaximumRead = maximumRead, MaximumWrite = maximumWrite, WriteFunction = writeFunction, HasReadWrite = false, WordOrder = (WordOrder)random.Next(2),
            },
        };
    }

    /// <summary>Fields that do not overlap, as a file's must not, but for some of the same registers that masks tell apart.</summary>
    private static RegisterField[] Fields(Random random, bool canShare, bool withInputs)
    {
        var fields = new List<RegisterField>();
        foreach (var kind in withInputs ? (RegisterKind?[])[RegisterKind.Holding, RegisterKind.Input] : [null])
        {
            for (var register = random.Next(8); register < Space;)
            {
                var type = (RegisterType)random.Next(4);
                var field = Definitions.Field($"f{fields.Count}", register, type) with { Kind = kind };
                fields.Add(field);
                if (canShare && random.Next(5) == 0)
                {
                    fields[^1] = field with { Mask = 0x00FF };
                    fields.Add(field with { Name = $"f{fields.Count}", Mask = 0xFF00 });
                }

                register += field.Width + (random.Next(3) == 0 ? random.Next(1, 6) : 0);
            }
        }

        return [.. fields];
    }
}
