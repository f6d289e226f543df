using System.Net;
using System.Net.Mail;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines.Messages;

/// <summary>Reads a channel that goes by mail.</summary>
internal sealed class EmailReader(LoadedFile file)
{
    // RFC 6409: submission; RFC 8314, 3.3: submission under TLS; RFC 5321: relay.
    private const int SubmissionPort = 587, TlsPort = 465, PlainPort = 25;
    private const int MostReceivers = 20;

    private static readonly Choices<MailSecurity> Securities = new(("startTls", MailSecurity.StartTls), ("tls", MailSecurity.Tls), ("none", MailSecurity.None));

    public EmailDefinition? Read(ObjectReader channel)
    {
        if (channel.Object("email", MessageShapes.Email) is not { } reader)
        {
            return null;
        }

        var server = reader.Text("server", "name or address of the mail server");
        var security = reader.Choice("security", Securities, MailSecurity.StartTls);
        var usual = security switch { MailSecurity.Tls => TlsPort, MailSecurity.None => PlainPort, _ => SubmissionPort };
        var port = reader.Integer("port", new NumberRange(1, 65_535, ""), usual);
        var from = Address(reader.Require("from", "address of the sender"));
        var to = reader.Items("to", "addresses of the receivers, at least one").Select(Address).OfType<string>().ToArray();
        if (reader.Find("to") is { Kind: NodeKind.Array, Items.Count: var count } && count is 0 or > MostReceivers)
        {
            reader.Refuse("to", count == 0 ? "is empty; name at least one address" : $"has {count} addresses; at most {MostReceivers} are allowed");
        }

        return new EmailDefinition(server ?? "", port ?? usual, security ?? MailSecurity.StartTls, from ?? "", to)
        {
            User = ReadUser(reader, security, server),
            Password = SecretReader.Read(reader, "passwordFile", file),
            CertificateAuthority = reader.Text("certificateAuthority") is { } path ? file.Beside(path) : null,
        };
    }

    private static string? ReadUser(ObjectReader reader, MailSecurity? security, string? server)
    {
        var user = reader.Text("user");
        if ((reader.Find("user") is null) != (reader.Find("passwordFile") is null))
        {
            reader.Refuse(user is null ? "passwordFile" : "user", "needs \"user\" and \"passwordFile\" together");
        }
        else if (user is not null && security == MailSecurity.None && server is not null && !IsThisComputer(server))
        {
            reader.Refuse("security", "\"none\" would send the password in the clear; choose \"startTls\" or \"tls\"");
        }

        return user;
    }

    internal static bool IsThisComputer(string host) => host == "localhost" || (IPAddress.TryParse(host.Trim('[', ']'), out var address) && IPAddress.IsLoopback(address));

    private string? Address(Node? node)
    {
        if (node is null || Values.Text(node, file.Errors) is not { } text)
        {
            return null;
        }

        // A name beside the address, quotes and comments have no place here.
        if (MailAddress.TryCreate(text, out var address) && address.Address == text && text.All(char.IsAscii))
        {
            return text;
        }

        file.Errors.Add(node, $"{Show.Quoted(text)} is no mail address such as maintenance@plant.example");
        return null;
    }
}
