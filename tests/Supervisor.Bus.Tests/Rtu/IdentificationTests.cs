using System.Text;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>Function 43, interface 14, both sides of the line: MODBUS Application Protocol V1.1b3, 6.21; what is not in check-values is from memory.</summary>
public sealed class IdentificationTests
{
    private static readonly TimeSpan Now = TimeSpan.FromSeconds(3);
    private readonly DeviceIdentity _identity = new("Maker", "TS-4", "1.2");
    private readonly byte[] _reply = new byte[256];

    [Fact]
    public void Answer_GoldenRequest_TellsTheThreeMandatoryObjects() =>
        Assert.Equal(Hex.Bytes(GoldenFrames.IdentifyReply), Answer(Hex.Bytes(GoldenFrames.IdentifyRequest)));

    [Theory]
    [InlineData("01 2B 0E 04 01", "01 2B 0E 04 81 00 00 01 01 04 54 53 2D 34")] // one object
    [InlineData("01 2B 0E 01 02", "01 2B 0E 01 81 00 00 01 02 03 31 2E 32")] // from the third on
    [InlineData("01 2B 0E 03 02", "01 2B 0E 03 81 00 00 01 02 03 31 2E 32")] // more than it has: what it has
    [InlineData("01 2B 0E 04 03", "01 AB 02")] // no such object
    [InlineData("01 2B 0E 00 00", "01 AB 03")]
    [InlineData("01 2B 0E 05 00", "01 AB 03")]
    [InlineData("01 2B 0D 01 00", "01 AB 01")] // another interface
    public void Answer_Request_IsItsObjectsOrException(string request, string reply) =>
        Assert.Equal(Hex.WithCrc(reply), Answer(Hex.WithCrc(request)));

    [Fact]
    public void Answer_StreamFromAnObjectThatIsNotThere_BeginsAnew() =>
        Assert.Equal(Answer(Hex.WithCrc("01 2B 0E 01 00")), Answer(Hex.WithCrc("01 2B 0E 01 03")));

    [Fact]
    public void Answer_NoIndividualAccess_IsException3AndSaysSoInItsConformity()
    {
        var identity = new DeviceIdentity("Maker", "TS-4", "1.2") { HasIndividualAccess = false };

        Assert.Equal(Hex.WithCrc("01 AB 03"), Answer(Hex.WithCrc("01 2B 0E 04 01"), identity));
        Assert.Equal(0x01, Answer(Hex.Bytes(GoldenFrames.IdentifyRequest), identity)[4]);
    }

    [Theory]
    [InlineData(DeviceIdentification.ProductName, 0x82)]
    [InlineData(0x80, 0x83)]
    public void Conformity_ByTheHighestObject_IsItsLevel(byte id, byte conformity)
    {
        _identity.Set(id, "more");

        Assert.Equal(conformity, _identity.Conformity);
    }

    [Fact]
    public void Reading_ObjectsOfManyFrames_TellsAllOfThem()
    {
        foreach (var id in Enumerable.Range(3, 5).Concat([0x7F, 0x80, 0xC0, 0xFF]))
        {
            _identity.Set((byte)id, new string((char)('a' + (id % 20)), 100 + (id % 100)));
        }

        var reading = new IdentificationReading(1, IdentificationAccess.Extended);

        var requests = Run(reading, Map(_identity));

        Assert.Equal(IdentificationState.Complete, reading.State);
        Assert.True(requests > 5, "All came in one frame: nothing was paged.");
        Assert.Equal(Enumerable.Range(0, 256).Where(id => _identity.Has((byte)id)), reading.Objects.Select(id => (int)id));
        Assert.All(reading.Objects, id => Assert.Equal(_identity.Object(id), reading.Bytes(id)));
        Assert.Equal(0x83, reading.Conformity);
    }

    [Fact]
    public void Reading_LongestObject_FillsAFrame()
    {
        _identity.Set(0x90, new string('x', DeviceIdentification.MaximumObjectBytes));

        Assert.Equal(256, Answer(Hex.WithCrc("01 2B 0E 04 90")).Length);
        Assert.Throws<ArgumentException>(() => _identity.Set(0x90, new string('x', DeviceIdentification.MaximumObjectBytes + 1)));
    }

    [Fact]
    public void Reading_DeviceWithoutTheFunction_IsNotServed()
    {
        var reading = new IdentificationReading(1, IdentificationAccess.Regular);

        Assert.Equal(1, Run(reading, Map(null)));
        Assert.Equal(IdentificationState.NotServed, reading.State);
    }

    [Fact]
    public void Reading_DeviceThatRefusesTheAccess_IsAskedForTheBasicObjects()
    {
        var transaction = new Transaction();
        var reading = new IdentificationReading(1, IdentificationAccess.Regular);
        reading.Ask(transaction);
        transaction.Accept(Hex.WithCrc("01 AB 03"), Now);

        Assert.Equal(IdentificationState.Asking, reading.Take(transaction));
        reading.Ask(transaction);
        Assert.Equal(Hex.Bytes(GoldenFrames.IdentifyRequest), transaction.RequestFrame.ToArray());
        transaction.Accept(Hex.Bytes(GoldenFrames.IdentifyReply), Now);
        Assert.Equal(IdentificationState.Complete, reading.Take(transaction));
        Assert.Equal("TS-4", reading.Text(DeviceIdentification.ProductCode));
    }

    [Theory]
    [InlineData("01 2B 0E 02 82 FF 00 01 00 01 41")] // the next is the first again
    [InlineData("01 2B 0E 02 82 FF 00 00")]
    public void Reading_PagesWithoutEnd_Fails(string page)
    {
        var transaction = new Transaction();
        var reading = new IdentificationReading(1, IdentificationAccess.Regular);
        reading.Ask(transaction);
        transaction.Accept(Hex.WithCrc(page), Now);

        Assert.Equal(IdentificationState.Failed, reading.Take(transaction));
    }

    [Fact]
    public void Text_OfStrangeBytes_IsPrintable() =>
        Assert.Equal("a?[31mb?c", IdentificationReading.Printable([0, (byte)' ', .. Encoding.ASCII.GetBytes("a\u001b[31mb"), 0xE4, (byte)'c', (byte)' ', 0]));

    [Theory]
    [InlineData("01 2B 0D", FrameFault.WrongFunction)]
    [InlineData("01 2B 0E 02", FrameFault.WrongEcho)]
    [InlineData("01 2B 0E 01 01 00 00 7C", FrameFault.WrongByteCount)] // 124 objects take 248 bytes
    [InlineData("01 2B 0E 01 01 00 00 02 00 F4", FrameFault.WrongByteCount)] // 244 bytes, and one object more
    public void Reply_WrongHead_IsRefusedBeforeTheBodyIsThere(string head, FrameFault fault) =>
        Assert.Equal(fault, RtuDecoder.Reply(Hex.Bytes(head), GoldenFrames.Transaction(GoldenFrames.IdentifyRequest).Expected).Fault);

    private static int Run(IdentificationReading reading, IRegisterMap map)
    {
        var slave = new RtuSlave();
        slave.Serve(1, map);
        var transaction = new Transaction();
        var reply = new byte[256];
        var requests = 0;
        do
        {
            reading.Ask(transaction);
            requests++;
            transaction.Accept(reply.AsSpan(0, slave.Answer(transaction.RequestFrame, reply)), Now);
        }
        while (reading.Take(transaction) == IdentificationState.Asking);
        return requests;
    }

    private static IdentifiedArray Map(DeviceIdentity? identity) => new(identity);

    private byte[] Answer(byte[] request, DeviceIdentity? identity = null)
    {
        var slave = new RtuSlave();
        slave.Serve(1, Map(identity ?? _identity));
        return _reply[..slave.Answer(request, _reply)];
    }
}
