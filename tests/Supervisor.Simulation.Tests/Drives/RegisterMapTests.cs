using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

/// <summary>Exception codes: MODBUS Application Protocol Specification V1.1b3, section 7 (01 function, 02 address, 03 value).</summary>
public sealed class RegisterMapTests
{
    public static TheoryData<string> Definition => ["words", "bits", "sparse"];

    [Theory]
    [MemberData(nameof(Definition))]
    public void Read_EveryRegister_AnswersExactlyTheDeclaredOnes(string name)
    {
        var drive = Drive(name);
        var rig = new Rig(Definitions.Axis(drive));
        var declared = Fields(drive).Where(field => field.Access != RegisterAccess.Write).SelectMany(field => Wire(drive, field)).ToHashSet();
        for (int register = 0; register < 1200; register++)
        {
            byte exception = rig.Read(register, 1);
            if (declared.Contains(register))
            {
                Assert.True(exception == 0, $"{name} {register} refused with {exception}");
            }
            else if (!InAGap(drive, register))
            {
                Assert.True(exception == 2, $"{name} {register} answered {exception}");
            }
        }
    }

    [Theory]
    [MemberData(nameof(Definition))]
    public void Write_EveryRegister_TakesExactlyTheWritableOnes(string name)
    {
        var drive = Drive(name);
        var rig = new Rig(Definitions.Axis(drive));
        var writable = drive.Command.Concat(drive.Parameters).Where(field => field.Access != RegisterAccess.Read).SelectMany(field => Wire(drive, field)).ToHashSet();
        for (int register = 0; register < 1200; register++)
        {
            byte exception = rig.WriteRegisters(register, 0);
            Assert.True(writable.Contains(register) ? exception == 0 : exception is 2 or 3, $"{name} {register} answered {exception}");
        }
    }

    [Theory]
    [MemberData(nameof(Definition))]
    public void Write_ThenRead_GivesTheSameWords(string name)
    {
        var drive = Drive(name);
        var rig = new Rig(Definitions.Axis(drive));
        ushort next = 0x1234;
        foreach (var field in drive.Command.Concat(drive.Parameters).Where(field => field.Access == RegisterAccess.ReadWrite))
        {
            foreach (int register in Wire(drive, field))
            {
                Assert.Equal(0, rig.WriteRegisters(register, next));
                Assert.Equal(0, rig.Read(register, 1));
                Assert.Equal(next, rig.Word(0));
                next += 0x0111;
            }
        }

        Assert.NotEqual(0x1234, next);
    }

    [Fact]
    public void WordOrder_LowFirst_PutsTheLowWordAtTheLowerAddress()
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits()));
        rig.WriteRegisters(101, 0x5678, 0x0001); // targetPosition is register 102, numbered from 1
        Assert.Equal(0x15678, rig.Get("targetPosition"));
        var words = new Rig();
        words.WriteRegisters(66, 0x0001, 0x5678);
        Assert.Equal(0x15678, words.Get("targetPosition"));
    }

    [Fact]
    public void MaxRegisters_OneMore_IsRefused()
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits()));
        Assert.Equal(3, rig.Read(200, 9));
        Assert.Equal(0, rig.Read(200, 6));
        Assert.Equal(3, rig.WriteRegisters(100, new ushort[9]));
        Assert.Equal(0, rig.WriteRegisters(100, new ushort[5]));
    }

    [Fact]
    public void Function_NotDeclared_GivesException1()
    {
        var rig = new Rig(Definitions.Axis(Definitions.Bits()));
        byte unit = rig.Axis.Address;
        Assert.Equal(1, rig.Exchange(ask => ask.ReadWrite(unit, 200, 1, 100, [0])));
        Assert.Equal(1, rig.Read(200, 1, 4));
        var words = new Rig();
        Assert.Equal(0, words.Exchange(ask => ask.ReadWrite(unit, 0, 8, 64, [0])));
        var single = Definitions.Words();
        var only6 = new Rig(Definitions.Axis(single with { Wire = single.Wire with { WriteFunction = 6, MaximumWrite = 1 } }));
        Assert.Equal(1, only6.WriteRegisters(64, 0));
        Assert.Equal(0, only6.Exchange(ask => ask.WriteSingle(unit, 64, 6)));
        Assert.Equal(6, only6.Get("controlword"));
    }

    [Fact]
    public void Write_PartlyUndeclared_ChangesNothing()
    {
        var rig = new Rig();
        rig.Set("digitalOutputs", 5);
        Assert.Equal(2, rig.WriteRegisters(128, 7, 7));
        Assert.Equal(0, rig.Get("communicationTimeout"));
    }

    [Fact]
    public void Busy_AskedFor_AnswersTheDeclaredExceptionAndDoesNothing()
    {
        var words = Definitions.Words();
        var rig = new Rig(Definitions.Axis(words with { Wire = words.Wire with { BusyExceptions = [5] } }));
        rig.Drive.BusyAnswers = 2;
        Assert.Equal(5, rig.Write("controlword", 6));
        Assert.Equal(5, rig.Read(0, 1));
        Assert.Equal(0, rig.Get("controlword"));
    }

    [Fact]
    public void Address_OfNobody_IsSilent()
    {
        var rig = new Rig();
        Assert.Equal(255, rig.Exchange(ask => ask.Read(9, 3, 0, 1)));
    }

    [Fact]
    public void Crc_Wrong_IsSilent()
    {
        var rig = new Rig();
        var ask = new Transaction();
        ask.Read(3, 3, 0, 1);
        byte[] frame = ask.RequestFrame.ToArray();
        frame[^1] ^= 1;
        Assert.Equal(0, rig.Line.Answer(frame, rig.Now, new byte[256], out _));
        frame[1] = 0x2B; // a function it lacks, the CRC still wrong
        Assert.Equal(0, rig.Line.Answer(frame, rig.Now, new byte[256], out _));
    }

    [Fact]
    public void Torque_Scale_IsPercentOfRated()
    {
        var rig = new Rig();
        rig.Set("torqueLimit", 12.5);
        Assert.Equal(0, rig.Read(74, 1));
        Assert.Equal(125, rig.Word(0)); // per mille of rated, CiA 402 object 6072h (secondary source)
        Assert.Equal(12.5, rig.Get("torqueLimit"));
    }

    private static DriveDefinition Drive(string name) => name switch
    {
        "words" => Definitions.Words(),
        "bits" => Definitions.Bits(),
        _ => Sparse(),
    };

    /// <summary>Input registers, gaps small and large, a command that can't be read back.</summary>
    private static DriveDefinition Sparse()
    {
        var words = Definitions.Words();
        return words with
        {
            Wire = words.Wire with { ReadFunction = 4, MaximumRead = 12, FirstRegister = 1 },
            Feedback =
            [
                new("position", 11, RegisterType.U32, 1, null, RegisterAccess.Read), new("statusword", 17, RegisterType.U16, 1, null, RegisterAccess.Read),
                new("errorCode", 900, RegisterType.U16, 1, null, RegisterAccess.Read), new("digitalInputs", 901, RegisterType.U16, 1, null, RegisterAccess.Read),
            ],
            Command =
            [
                new("controlword", 15, RegisterType.U16, 1, null, RegisterAccess.ReadWrite), new("mode", 500, RegisterType.U16, 1, null, RegisterAccess.Write),
                new("targetPosition", 502, RegisterType.U32, 1, null, RegisterAccess.ReadWrite),
            ],
            Outputs = new Dictionary<string, BitReference>(),
            Parameters = [],
        };
    }

    private static IEnumerable<RegisterField> Fields(DriveDefinition drive) => drive.Feedback.Concat(drive.Command).Concat(drive.Parameters);

    private static IEnumerable<int> Wire(DriveDefinition drive, RegisterField field) =>
        Enumerable.Range(field.Register - drive.Wire.FirstRegister, field.Width);

    private static bool InAGap(DriveDefinition drive, int wire)
    {
        int register = wire + drive.Wire.FirstRegister;
        var ordered = drive.Feedback.OrderBy(field => field.Register).ToArray();
        return ordered.Zip(ordered.Skip(1)).Any(pair =>
            register >= pair.First.Register + pair.First.Width && register < pair.Second.Register && pair.Second.Register - pair.First.Register <= drive.Wire.MaximumRead);
    }
}
